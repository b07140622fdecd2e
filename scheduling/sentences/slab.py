"""Sentences on what the slab takes and what is ordered for it."""

from scheduling.sentences.told import Sentence, Told


def section_name(told: Told) -> str:
    """``Section 2``, or the section's own name."""
    name = told["section"]
    return f"Section {name}" if name.isdigit() else f"{name[:1].upper()}{name[1:]}"


def _depth_differs_from_drawing(told: Told) -> str:
    return (
        f"{section_name(told)} is entered {told['depth_m']} deep, but the drawing calls it "
        f"{told['drawn_depth_m']}: {told['as_entered_m3']} as entered, {told['as_drawn_m3']} as drawn. "
        "Find out which is right before you order."
    )


def _wedge_volume(told: Told) -> str:
    return (
        f"{section_name(told)}: the fall of the top adds {told['wedge_m3']}, or {told['deeper_depth_m']} of "
        "depth on average. The order counts it already."
    )


def _base_out_of_tolerance(told: Told) -> str:
    return (
        f"{section_name(told)} measures {told.span('least_depth_m', 'most_depth_m')} deep where "
        f"{told['meant_depth_m']} is meant; the base may be off by {told['tolerance_depth_m']}. "
        "Trim the high spots, fill the low ones and measure again."
    )


def _thin_allowance(told: Told) -> str:
    return (
        f"The order of {told['order_m3']} is only {told['percent']} over the net {told['net_m3']}. "
        f"{told.span('low_order_m3', 'high_order_m3')} is usual for this slab: order more, or have a way "
        "to get a late load."
    )


def _fall_is_flat(told: Told) -> str:
    return (
        f"{section_name(told)} falls {told['fall_m']} in {told['run_m']}, {told['percent']}; from "
        f"{told['draining_percent']} on water runs off well. Expect puddles unless it is struck very true."
    )


SENTENCES: dict[str, Sentence] = {
    "depth_differs_from_drawing": _depth_differs_from_drawing,
    "wedge_volume": _wedge_volume,
    "base_out_of_tolerance": _base_out_of_tolerance,
    "fall_is_flat": _fall_is_flat,
    "spread_needs_spots": (
        "{unmeasured_m3} of the slab has too few measured depths to tell how they vary, so {percent} "
        "({fallback_m3}) is added instead. Measure at least two spots in every section."
    ),
    "thin_allowance": _thin_allowance,
    "generous_allowance": lambda told: (
        f"The allowance is {told['percent']} over the net {told['net_m3']}, which makes {told['order_m3']}. "
        f"{told.span('low_order_m3', 'high_order_m3')} is usual: keep the extra if the base is soft or rough."
    ),
}
