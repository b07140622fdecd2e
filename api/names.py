"""How our columns are called at this door: without the SI suffix, since a quantity carries its own unit."""

# Longest first, so that no suffix is cut inside a longer one.
SUFFIXES = (
    "_kg_m2_h", "_10m_m_s", "_m3_h", "_m2_h", "_m_h", "_m_s", "_kg_m3", "_w_m2",
    "_mpa", "_min", "_m3", "_m2", "_mm", "_kg", "_m", "_c", "_h",
)  # fmt: skip

# Names that say too little once the suffix is gone, or that this door words for strangers.
OWN_NAMES = {
    "people": "crew_size",
    "concrete_c": "concrete_temperature",
    "water_c": "water_temperature",
    "aggregate_c": "aggregate_temperature",
    "aggregate_kg_m3": "sand_and_stone",
    "air_c": "air_temperature",
    "dew_point_c": "dew_point",
    "allowance_value": "allowance",
    "spot_depths_m": "spot_depths",
    "depths_m": "spot_depths",
    "corners_m": "corners",
}


def api_name(column: str) -> str:
    """What a column or an input of the engine is called in requests and answers."""
    return OWN_NAMES.get(column) or bare(column)


def bare(name: str) -> str:
    """The name without the unit it ends in."""
    suffix = next((suffix for suffix in SUFFIXES if name.endswith(suffix)), "")
    return name.removesuffix(suffix)
