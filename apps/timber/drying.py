"""When a piece will be dry enough where it is stored.

A piece approaches the moisture it would settle at in the air around it: fast at first, then ever
more slowly. Where it settles comes from temperature and humidity; how fast comes from its own
readings, or from its thickness while there is one reading only.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from math import ceil, exp, inf, log

import numpy as np

from apps.timber.drying_fit import TIME_CONSTANT_DAYS, fit, resampled
from apps.timber.moisture import (
    SATURATED_PCT,
    SETTINGS,
    Climate,
    DryingSettings,
    corrected_pct,
    equilibrium_pct,
)
from apps.timber.outlook import Curve, Forecast, Outlook, Point
from apps.timber.pieces_as_data import PieceData

BAND = (10, 90)  # per cent of the resamples: 80 % lie between
ROUNDING_PCT = 0.05  # below what is shown
_DAY = timedelta(days=1)


def expected_days(piece: PieceData, settings: DryingSettings = SETTINGS) -> float:
    """The time constant of a piece that nobody has followed [days], by thickness and exposure."""
    thickness = min(piece.breadth_mm, piece.depth_mm)
    growth = float((thickness / 50) ** settings.thickness_exponent)
    days = settings.days_at_50_mm[piece.stored] * growth
    return min(max(days, TIME_CONSTANT_DAYS[0]), TIME_CONSTANT_DAYS[1])


def drying_curve(
    piece: PieceData, settings: DryingSettings = SETTINGS, climate: Climate | None = None
) -> Curve | None:
    """How a piece dries where it is stored; None without a reading.

    The wettest reading of a day counts. Readings over 30 % are not fitted. A reading that has risen
    above where the piece settles means rewetting: the curve starts again from there.

    Args:
        piece: with its readings, their times in the house's zone.
        settings: what is taken for granted.
        climate: the air there; None: of the settings, for where it is stored.
    """
    climate = climate or settings.climates[piece.stored]
    settles = equilibrium_pct(climate.temperature_c, climate.humidity_pct)
    readings, wetted_on = _since_wetted(_by_day(piece, settings), settles, settings.rise_pct)
    if not readings:
        return None
    latest_at, latest_pct = readings[-1]
    usable = [one for one in readings if one[1] <= SATURATED_PCT] or [readings[-1]]
    began = usable[0][0]
    days = np.array([(at - began) / _DAY for at, _ in usable])
    pct = np.array([value for _, value in usable])
    expected = expected_days(piece, settings)
    begin, constant = fit(days, pct, settles, expected, settings)
    return Curve(
        begins=began,
        begin_pct=begin,
        settles_pct=settles,
        days=constant,
        readings=len(usable),
        latest_on=latest_at.date(),
        latest_pct=latest_pct,
        wetted_on=wetted_on,
        where=climate.words,
        samples=resampled(days, pct, settles, (begin, constant, expected), settings),
    )


def forecast(
    piece: PieceData,
    curve: Curve | None,
    *,
    limit_pct: float,
    today: date,
    settings: DryingSettings = SETTINGS,
) -> Forecast:
    """When a piece is no wetter than a limit, or why that cannot be said.

    Args:
        piece: for its mark.
        curve: from `drying_curve`; one serves any number of limits.
        limit_pct: the limit [%].
        today: no day before it is answered.
        settings: what is taken for granted.
    """

    if curve is None:
        words = f"{piece.mark} has no moisture reading: read it before it is used."
        return Forecast(outlook=Outlook.NO_READING, sentence=words, limit_pct=limit_pct)
    if curve.latest_pct <= limit_pct:
        outlook, words, days = _of_dry(curve, limit_pct, today)
    elif curve.settles_pct >= limit_pct:
        outlook, words, days = Outlook.NEVER, f"will not get below {_pct(limit_pct)} by itself", ()
        words += f" here: the equilibrium {curve.where} is {_pct(curve.settles_pct)}"
    elif curve.latest_pct > SATURATED_PCT:
        outlook, words, days = _of_sodden(curve, limit_pct, today)
    else:
        outlook, words, days = _of_drying(curve, limit_pct, today, settings)
    sentence = f"{piece.mark} was {_pct(curve.latest_pct)} on {_day(curve.latest_on)}: it {words}."
    if curve.wetted_on:
        sentence += f" It was found wetter on {_day(curve.wetted_on)} and is counted from there."
    dry_on, early_on, late_on = (*days, None, None, None)[:3]
    return Forecast(
        outlook=outlook,
        sentence=sentence,
        limit_pct=limit_pct,
        curve=curve,
        dry_on=dry_on,
        early_on=early_on,
        late_on=late_on,
    )


def points(curve: Curve, until: date, steps: int = 40) -> tuple[Point, ...]:
    """The curve with its 80 % band, from its first reading to a day, for a chart."""
    begins = curve.begins.date()
    whole = max((until - begins).days, 1)
    numbers = sorted({round(whole * step / steps) for step in range(steps + 1)})
    begin, constant = np.array(curve.samples).T
    days = np.array(numbers, dtype=float)[:, None]
    others = curve.settles_pct + (begin - curve.settles_pct) * np.exp(-days / constant)
    low, high = np.percentile(others, BAND, axis=1)
    likely = [_at(curve, number) for number in numbers]
    return tuple(
        Point(begins + number * _DAY, pct, min(pct, float(least)), max(pct, float(most)))
        for number, pct, least, most in zip(numbers, likely, low, high, strict=True)
    )


Found = tuple[Outlook, str, tuple[date | None, ...]]


def _of_dry(curve: Curve, limit_pct: float, today: date) -> Found:
    """A piece that was dry enough when last read: it may have gone damp again since."""
    now_pct = _at(curve, (today - curve.begins.date()).days)
    if curve.settles_pct <= limit_pct or now_pct <= limit_pct + ROUNDING_PCT:
        return Outlook.DRY, f"is dry enough for {_pct(limit_pct)}", (today,)
    words = f"does not stay below {_pct(limit_pct)} here: the equilibrium {curve.where} is"
    return Outlook.NEVER, f"{words} {_pct(curve.settles_pct)}", ()


def _of_sodden(curve: Curve, limit_pct: float, today: date) -> Found:
    """A piece over 30 %: nothing published says how it comes down to there."""
    constants = [constant for _, constant in curve.samples]
    quick = float(np.percentile(constants, BAND[0]))
    least = _crossing(SATURATED_PCT, quick, curve.settles_pct, limit_pct)
    early = max(curve.latest_on + timedelta(days=round(least)), today)
    words = f"is too wet to say when it is below {_pct(limit_pct)}"
    if early > today:
        words += f", but not before {_day(early)}"
    return Outlook.TOO_WET, f"{words}; read it again under {_pct(SATURATED_PCT)}", (None, early)


def _of_drying(curve: Curve, limit_pct: float, today: date, settings: DryingSettings) -> Found:
    """A piece on its way down to a limit above where it settles."""
    settles, begins = curve.settles_pct, curve.begins.date()
    likely = _crossing(curve.begin_pct, curve.days, settles, limit_pct)
    crossings = [
        _crossing(begin, constant, settles, limit_pct) for begin, constant in curve.samples
    ]
    early, late = (float(one) for one in np.percentile(crossings, BAND))
    last = (today - begins).days + settings.longest_days
    if likely > last:
        words = f"would take more than {settings.longest_days} days to get below {_pct(limit_pct)}"
        words += f" here: the equilibrium {curve.where} is {_pct(settles)}"
        return Outlook.NEVER, words, ()

    def on(days: float) -> date:
        return max(begins + timedelta(days=ceil(days)), today)

    dry_on, early_on = on(likely), on(min(early, likely))
    late_on = on(max(late, likely)) if late <= last else None
    band = f"at the latest {_day(late_on)}" if late_on else "perhaps much later"
    words = f"should be below {_pct(limit_pct)} by {_day(dry_on)} (at the earliest"
    words += f" {_day(early_on)}, {band}, four times in five)"
    if dry_on == today:
        words = f"should be below {_pct(limit_pct)} by now; read it again"
    elif curve.readings == 1:
        words += ", going by its thickness alone: read it again in a week or two"
    return Outlook.DATE, words, (dry_on, early_on, late_on)


def _by_day(piece: PieceData, settings: DryingSettings) -> list[tuple[datetime, float]]:
    """The wettest reading of each day, in order of days, corrected [%]."""
    days: dict[date, tuple[float, datetime]] = {}
    for reading in piece.readings:
        found = (corrected_pct(reading, settings), reading.read_at)
        day = reading.read_at.date()
        days[day] = max(days.get(day, found), found)
    return [(at, pct) for _, (pct, at) in sorted(days.items())]


def _since_wetted(
    readings: list[tuple[datetime, float]], settles_pct: float, rise_pct: float
) -> tuple[list[tuple[datetime, float]], date | None]:
    """Readings from the last rewetting on, and its day if there was one."""
    start, least, wetted_on = 0, inf, None
    for place, (at, pct) in enumerate(readings):
        if pct > max(least + rise_pct, settles_pct):
            start, least, wetted_on = place, pct, at.date()
        least = min(least, pct)
    return readings[start:], wetted_on


def _at(curve: Curve, days: float) -> float:
    """Moisture so long after the curve's first reading [%]."""
    return curve.settles_pct + (curve.begin_pct - curve.settles_pct) * exp(-days / curve.days)


def _crossing(begin_pct: float, constant: float, settles_pct: float, limit_pct: float) -> float:
    """Days until a curve that settles below a limit is below it."""
    if begin_pct <= limit_pct:
        return 0.0
    return constant * log((begin_pct - settles_pct) / (limit_pct - settles_pct))


def _pct(pct: float) -> str:
    return f"{round(pct, 1):g} %"


def _day(on: date) -> str:
    return on.strftime("%-d %b %Y")
