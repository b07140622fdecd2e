"""Requests and answers to look at in the description."""

from typing import Any

from drf_spectacular.utils import OpenApiExample

SLAB: dict[str, Any] = {
    "length": "52 ft",
    "width": "38 ft",
    "depth": "5 in",
    "depth_kind": "falling_base",
    "fall": {"value": 2, "unit": "in"},
}
MIX = {
    "strength": "4000 psi",
    "aggregate": "3/4 in",
    "admixtures": ["water_reducer"],
}

BOOKINGS = [
    OpenApiExample(
        "A garage slab falling two inches",
        request_only=True,
        value={
            "job": 1,
            "title": "Garage slab",
            "starts_at": "2026-06-10T07:00",
            "sections": [SLAB],
            "mix": 1,
            "method": "chute",
            "crew": 1,
            "crew_size": 5,
            "finishers": 2,
        },
    )
]
PREVIEWS = [
    OpenApiExample(
        "Nothing kept, everything given",
        request_only=True,
        value={
            "starts_at": "2026-06-10T07:00",
            "sections": [SLAB],
            "mix": MIX,
            "plant": {"truck": "10 yd3", "usual_haul": "25 min"},
            "site": {"latitude": 38.88, "longitude": -94.82, "time_zone": "America/Chicago"},
            "method": "chute",
            "crew_size": 5,
            "weather": [
                {
                    "at": "2026-06-10T07:00",
                    "air_temperature": "72 F",
                    "humidity": "50 %",
                    "wind": {"value": 8, "unit": "mph"},
                }
            ],
        },
    ),
    OpenApiExample(
        "With what is kept",
        request_only=True,
        value={"starts_at": "2026-06-10T07:00", "sections": [SLAB], "mix": 1, "site": 1, "crew_size": 5},
    ),
]
