"""What things cost the mill, in its own currency."""

from ringwright.mill.field import plain_field, quantity_field
from ringwright.mill.table import Table

__all__ = ["Money"]

_INVENTED = "an invented figure, to be replaced by the mill's own"


class Money(Table):
    """Prices, the piecers' round and the break rate: the ground of the cost of a kilogram."""

    currency: str = plain_field(
        "the word that stands after an amount of money", default="units", origin="assumed", note="no currency is named"
    )
    energy_price_per_kwh: float = quantity_field(
        "ratio", "1", (0, 1e6), "price of 1 kWh", default=0.10, origin="assumed", note=_INVENTED
    )
    air_conditioning_share: float = quantity_field(
        "ratio", "1", (0, 3), "energy for air conditioning, as a multiple of that of the frame",
        default=0.3, origin="assumed", note="no mill reading",
    )  # fmt: skip
    piecer_cost_per_hour: float = quantity_field(
        "ratio", "1", (0, 1e6), "cost of one piecer for one hour, with everything", default=5, origin="assumed",
        note=_INVENTED,
    )  # fmt: skip
    spindle_cost_per_hour: float = quantity_field(
        "ratio", "1", (0, 1e6), "capital, room, upkeep and other people of one spindle for one hour",
        default=0.005, origin="assumed", note=_INVENTED,
    )  # fmt: skip
    roving_cost_per_kg: float = quantity_field(
        "ratio", "1", (0, 1e6), "cost of 1 kg of roving at the creel", default=2.4, origin="assumed", note=_INVENTED
    )
    waste_value_per_kg: float = quantity_field(
        "ratio", "1", (0, 1e6), "what 1 kg of suction waste is worth", default=1.4, origin="assumed", note=_INVENTED
    )
    spinning_price_per_kg: float | None = quantity_field(
        "ratio", "1", (0, 1e6), "what the mill earns for spinning 1 kg, above the roving",
        optional=True, origin="assumed", note="none is written, so the least cost of a kilogram is looked for",
    )  # fmt: skip
    breaks_per_1000_spindle_hours: float = quantity_field(
        "ratio", "1", (0.1, 2000), "end breaks per 1000 spindle hours with the settings as they are",
        default=30, origin="assumed", note="15 to 35 for combed 30s and 40s, from memory",
    )  # fmt: skip
    piecing_time: float = quantity_field(
        "time", "s", (2, 300), "time to piece one end", default=15, origin="assumed", note="no mill reading"
    )
    walking_time: float = quantity_field(
        "time", "s", (0.02, 30), "time to walk past one spindle and look at it",
        default=0.5, origin="assumed", note="no mill reading",
    )  # fmt: skip
    piecing_share: float = quantity_field(
        "share", "%", (5, 90), "share of a piecer's time that piecing may take; it sets how many spindles he minds",
        default=50, origin="common practice", note="under half, as the round grows out of hand above; no source",
    )  # fmt: skip
    longest_round: float = quantity_field(
        "time", "min", (1, 600), "longest time that a piecer's round may take; it too sets how many spindles he minds",
        default=20, origin="common practice", note="a quarter of an hour to half an hour, no source",
    )  # fmt: skip
    spindles_per_piecer: int | None = quantity_field(
        "ratio", "1", (10, 20000), "spindles that one piecer minds, where that is fixed",
        optional=True, origin="measured", note="none is written, so piecing_share and longest_round set it",
    )  # fmt: skip
    doff_stop: float = quantity_field(
        "time", "min", (0, 60), "standing time of the frame at each doff",
        default=3, origin="assumed", note="no mill reading",
    )  # fmt: skip
    spinning_time_per_year: float = quantity_field(
        "time", "h", (100, 8784), "time that a frame is manned in a year, doffs and small stops in it",
        default=8000, origin="assumed", note="three shifts on some 350 days, less a little; no mill reading",
    )  # fmt: skip
    tension_breaks_share: float = quantity_field(
        "share", "%", (0, 100), "share of the end breaks that follow the tension, with the settings as they are",
        default=50, origin="assumed", note="the others, of roving and drafting, follow the length spun; no source",
    )  # fmt: skip
