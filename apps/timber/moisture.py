"""Moisture of wood: what a meter says, where wood settles in the air around it, what is assumed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from apps.timber.pieces_as_data import ReadingData, Stored

SATURATED_PCT = 30.0  # above about this a pin meter only gives a sign: James 1988, read


@dataclass(frozen=True, slots=True)
class Climate:
    """The air where timber is stored: temperature [°C], relative humidity [%], and in words."""

    temperature_c: float
    humidity_pct: float
    words: str


# Averages over a heating season: common practice, no source. Measure yours.
CLIMATES: Mapping[str, Climate] = {
    Stored.DRY: Climate(18, 55, "in a dry room"),
    Stored.COVERED: Climate(10, 80, "under cover"),
    Stored.OUTSIDE: Climate(8, 90, "outside"),
}
# 180 days for 50 mm of green timber in the open (second hand) is about 100 days of time constant,
# from 60 % to 20 % where it settles at 12 %. Half of that in a heated room: common practice, no
# source.
DAYS_AT_50_MM: Mapping[str, float] = {
    Stored.DRY: 50.0,
    Stored.COVERED: 100.0,
    Stored.OUTSIDE: 100.0,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DryingSettings:
    """What a drying forecast takes for granted.

    Attributes:
        climates: the air for each `Stored`.
        meter_pct_per_c: added for each °C that the wood is below 20 °C [% points]. One maker's
            leaflet says 0.1 (second hand), another's comes to 0.2.
        meter_error_pct: how far a reading strays, one standard deviation [% points].
        rise_pct: a rise by more than this is rewetting, not the meter [% points].
        days_at_50_mm: time constant of a piece 50 mm thick, for each `Stored` [days].
        thickness_exponent: how the time constant grows with thickness.
        spread: 80 % of pieces are within this factor of the time constant for their thickness.
        longest_days: later than this is said to be never [days].
        samples, seed: of the band.
    """

    climates: Mapping[str, Climate] = field(default_factory=lambda: CLIMATES)
    meter_pct_per_c: float = 0.1
    meter_error_pct: float = 0.5  # common practice, no source
    rise_pct: float = 1.0  # common practice, no source
    days_at_50_mm: Mapping[str, float] = field(default_factory=lambda: DAYS_AT_50_MM)
    thickness_exponent: float = 1.58  # 60 days for 25 mm, 180 for 50 mm: second hand
    spread: float = 2.0  # our choice
    longest_days: int = 730  # our choice
    samples: int = 200
    seed: int = 1


SETTINGS = DryingSettings()


def equilibrium_pct(temperature_c: float, humidity_pct: float) -> float:
    """Moisture content that wood settles at [%] in air of this temperature and humidity.

    Wood Handbook (USDA Forest Products Laboratory), equation 4-5, Celsius form; coefficients second
    hand. For -1 to 55 °C and 0 to 95 % relative humidity.
    """
    t, h = temperature_c, humidity_pct / 100
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    dissolved = kh / (1 - kh)
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (dissolved + bound)


def corrected_pct(reading: ReadingData, settings: DryingSettings = SETTINGS) -> float:
    """A reading put right for the wood's temperature and species [%]. The reading itself stays."""
    pct = reading.measured_pct + reading.species_correction_pct
    if reading.wood_temperature_c is not None:
        pct += settings.meter_pct_per_c * (20 - reading.wood_temperature_c)
    return max(pct, 0.0)
