"""Water first: how much to top up, drain off or change out, and of which of the waters at hand."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.advice.case import Case
from rounds.advice.least_buffered import careful
from rounds.advice.lifting_water import parted
from rounds.advice.projection import Projection, ph_mixed
from rounds.advice.today import limits_since
from rounds.advice.water_plan import WaterPlan, can_be_measured, is_single, least_l
from rounds.belief import state as b
from rounds.book.composition import KnownWater, blended
from rounds.book.message import Message, say, sentences
from rounds.book.parcel import parcel_of
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import mix

SHARES = (0.25, 0.5, 0.75)
LEAST_TOP_UP = 0.02
"""Less than this share of the working volume is not worth carrying. [-]"""
CHANGE_OUT_FROM = 0.6
"""Where more than this share would have to be drained off, all is renewed. [-]"""
RIPENING_DOWN = 1.0
"""Ripening fruit splits where the feed is thinned by more in a day: common practice. [mS/cm]"""
_TRUE_ALKALINITY = (0.6, 1.6)
"""What the alkalinity of a water may be against its analysis, at the ends. [-]"""
_LIKELY_ALKALINITY, _WEAK_SDS = 1.35, 1.0
"""How much harder a water may be, and how much weaker the buffer, where waters are weighed against each other."""
_NEAR_ENOUGH = 0.6
"""Within this share of half the band the usual water is not given up for a better pH. [-]"""
_OWN_WATER = 0.12
WATER_STEP_PH = 0.4
"""No further is the pH lifted by one top-up. [-]"""
_UNMIXED = 0.06


def planned(case: Case, projected: Projection, *, believe_ec: bool = True) -> WaterPlan:
    """Decide about water, and part what would lift the pH out of its band."""
    plan = _by_level_and_ec(case, projected, believe_ec=believe_ec)
    if plan.water is None or plan.change_out or plan.as_base or case.readings.ph is None:
        return plan
    return parted(case, projected, plan, plan.water)


def _by_level_and_ec(case: Case, projected: Projection, *, believe_ec: bool) -> WaterPlan:
    """Decide about water: too strong is thinned, too low is filled up, too sour is helped by hard water.

    With `believe_ec` false nothing is thinned: the level alone decides.
    """
    high = case.stage.ec[1]
    missing = _missing_l(case)
    if believe_ec and projected.ec_ms_cm > high and case.readings.ec_ms_cm is not None:
        return _thinned(case, projected)
    if missing > max(case.inside_error_l, LEAST_TOP_UP * case.reservoir.working_volume_l, least_l(case)):
        water = best_water(case, projected, missing)
        return WaterPlan(top_up_l=missing, water=water, why=_why_top_up(case, projected, missing, water))
    return _water_as_base(case, projected)


def _missing_l(case: Case) -> float:
    """What is missing to the working level, by a dip of this round. [L]"""
    return case.reservoir.working_volume_l - case.inside_l if case.was_dipped else 0.0


def room_l(case: Case) -> float:
    """What the reservoir still takes: above it, pipes and channels run back when the pump stops. [L]

    Nothing where it was not dipped: what it takes is not guessed.
    """
    if not case.was_dipped:
        return 0.0
    back = case.reservoir.pipes_l + sum(channel.holds_l for channel in case.channels)
    to_full = case.reservoir.full_volume_l - back - case.inside_l
    return max(0.0, to_full, case.reservoir.working_volume_l - case.inside_l)


def best_water(case: Case, projected: Projection, litres: float, wanted_ec: float | None = None) -> KnownWater:
    """The water or blend at hand that leaves pH and EC nearest to the middle of their bands."""
    can = [water for water in candidates(case) if can_be_measured(case, water, litres)]
    return min(can or case.waters, key=lambda found: _cost(case, projected, found, litres, wanted_ec))


def candidates(case: Case) -> Iterator[KnownWater]:
    """The waters at hand, the usual one first, then blends of two of them by quarters."""
    yield from case.waters
    plain = [water for water in case.waters if water.shares is None]
    for i, one in enumerate(plain):
        for other in plain[i + 1 :]:
            for share in SHARES:
                yield blended(
                    [(one, share), (other, 1.0 - share)],
                    id=one.id,
                    name=f"{share:.0%} {one.name} and {1.0 - share:.0%} {other.name}",
                )


def _cost(case: Case, projected: Projection, water: KnownWater, litres: float, wanted_ec: float | None) -> float:
    ph_low, ph_high = case.stage.ph
    middle, half = (ph_low + ph_high) / 2.0, (ph_high - ph_low) / 2.0
    least = ph_mixed(projected, water.solution, litres, _TRUE_ALKALINITY[0])
    most = ph_mixed(projected, water.solution, litres, _LIKELY_ALKALINITY, weak_sds=_WEAK_SDS)
    ph = ph_mixed(projected, water.solution, litres)
    cost = max(0.0, abs(ph - middle) / half - _NEAR_ENOUGH) ** 2 + 2.0 * max(0.0, ph_low - least, most - ph_high) / half
    ec_low, ec_high = case.stage.ec
    ec = _mixed_ec(projected, water, litres)
    over = max(0.0, ec - (wanted_ec if wanted_ec is not None else ec_high)) / max(ec_high - ec_low, 0.1)
    usual = 0.0 if water.id == case.waters[0].id and is_single(case, water) else _OWN_WATER
    return cost + 4.0 * over**2 + usual + (0.0 if is_single(case, water) else _UNMIXED)


def _mixed_ec(projected: Projection, water: KnownWater, litres: float) -> float:
    return (projected.ec_ms_cm * projected.volume_l + water.ec_ms_cm * litres) / (projected.volume_l + litres)


def _thinned(case: Case, projected: Projection) -> WaterPlan:
    target = aimed_down(case, projected)
    final = _final_aim(case)
    water = best_water(case, projected, max(room_l(case), 0.1 * case.inside_l), target)
    why = _too_strong(case, projected)
    if not water.ec_ms_cm < final - 0.05:
        return WaterPlan(why=sentences(why, say("no-water-weak-enough")))
    room = room_l(case)
    if _share_to_drain(projected, water, final, projected.volume_l + room) > CHANGE_OUT_FROM:
        return WaterPlan(change_out=True, water=water, why=sentences(why, say("better-renewed")))
    needed = _litres_to_thin(projected, water, target)
    if _mixed_ec(projected, water, room) <= case.stage.ec[1] - case.ec_sd:
        needed = min(needed, room)
    if needed <= room:
        needed = max(needed, _missing_if_still_fed(case, projected, water))
        if needed < least_l(case):
            return _too_little(why)
        return WaterPlan(top_up_l=needed, water=water, why=sentences(why, say("room-for-water")))
    if projected.ec_ms_cm <= case.stage.ec[1] + case.ec_sd:
        return WaterPlan(why=sentences(why, say("within-meter-error")), too_little=True)
    missing = max(0.0, _missing_l(case))
    share = _share_to_drain(projected, water, target, projected.volume_l + missing)
    drain = min(share * projected.volume_l, 0.8 * case.inside_l)
    refill = drain + missing
    if refill < least_l(case):
        return _too_little(why)
    return WaterPlan(drain_l=drain, top_up_l=refill, water=water, why=sentences(why, say("full")))


def _too_little(why: Message) -> WaterPlan:
    return WaterPlan(why=sentences(why, say("too-little-to-tell")), too_little=True)


def _missing_if_still_fed(case: Case, projected: Projection, water: KnownWater) -> float:
    """What is missing to the working level, where that much water leaves the feed strong enough. [L]"""
    missing = max(0.0, _missing_l(case))
    return missing if _mixed_ec(projected, water, missing) >= case.stage.ec[0] else 0.0


def _too_strong(case: Case, projected: Projection) -> Message:
    return say("too-strong", ec=projected.ec_ms_cm, low=case.stage.ec[0], high=case.stage.ec[1])


def aimed_down(case: Case, projected: Projection) -> float:
    """What the conductivity is brought down to: in one go, since too strong a feed burns; with ripening fruit by no
    more than a day's share. [mS/cm]
    """
    if not case.stage.ripening:
        return _final_aim(case)
    return max(_final_aim(case), projected.ec_ms_cm - max(0.0, RIPENING_DOWN - _thinned_today(case)))


def _thinned_today(case: Case) -> float:
    """How far water has brought the conductivity down today. [mS/cm]"""
    since = limits_since(case, case.now)
    water = next((e.at for e in case.ledger.events if e.what == "water" and e.at >= since), None)
    if water is None or case.readings.ec_ms_cm is None:
        return 0.0
    before = [e.value for e in case.ledger.events if e.what == "ec" and e.at <= water]
    return max(0.0, before[-1] - case.readings.ec_ms_cm) if before else 0.0


def _final_aim(case: Case) -> float:
    low, high = case.stage.ec
    return low + 0.5 * (high - low)


def _litres_to_thin(projected: Projection, water: KnownWater, target: float) -> float:
    """Litres of a water that bring the conductivity to a target: by the ions, since it is not quite straight."""
    litres = projected.volume_l * (projected.ec_ms_cm - target) / (target - water.ec_ms_cm)
    now = projected.ec_book
    mixed = ec25_ms_cm(mix([(projected.solution, projected.volume_l), (water.solution, litres)]), 6.0)
    reached = projected.ec_ms_cm * mixed / max(now, 1e-6)
    fallen, wanted = projected.ec_ms_cm - reached, projected.ec_ms_cm - target
    return litres * wanted / max(fallen, 0.1 * wanted)


def _share_to_drain(projected: Projection, water: KnownWater, target: float, end_l: float) -> float:
    """Share of the circulating volume to drain off before refilling to `end_l`. [-]"""
    if not water.ec_ms_cm < target:
        return 1.0
    surplus = projected.ec_ms_cm * projected.volume_l + water.ec_ms_cm * (end_l - projected.volume_l) - target * end_l
    return min(max(surplus / ((projected.ec_ms_cm - water.ec_ms_cm) * projected.volume_l), 0.0), 1.0)


def _water_as_base(case: Case, projected: Projection) -> WaterPlan:
    """Where the pH is too low and there is room, hard water is the base."""
    low, _ = case.stage.ph
    if case.readings.ph is None or projected.state.mean[b.PH] >= low:
        return WaterPlan()
    fits = _bases_that_fit(case, projected)
    if not fits:
        return WaterPlan()
    water, litres = min(fits, key=lambda found: found[1])
    return WaterPlan(top_up_l=litres, water=water, as_base=True, why=say("gentlest-base", name=water.name))


def _bases_that_fit(case: Case, projected: Projection) -> list[tuple[KnownWater, float]]:
    """Hard waters with the litres that raise the pH, as far as there is room for them and a can shows them. [L]"""
    room, least = room_l(case), least_l(case)
    if room < 0.02 * projected.volume_l:
        return []
    hard = [water for water in candidates(case) if water.alkalinity_meq_l >= 0.5]
    could = [(water, _litres_as_base(case, projected, water, room)) for water in hard]
    return [(water, litres) for water, litres in could if litres >= least and can_be_measured(case, water, litres)]


def _litres_as_base(case: Case, projected: Projection, water: KnownWater, room: float) -> float:
    """What of a hard water raises the pH to where it belongs; 0 where none of it does, or it thins too much. [L]"""
    low, high = case.stage.ph
    ec_low, _ = case.stage.ec
    aim = min((low + high) / 2.0, projected.state.mean[b.PH] + WATER_STEP_PH)

    def risen(litres: float) -> float:
        return ph_mixed(projected, water.solution, litres, at_rest=True)

    if risen(room) < min(low, aim):
        return 0.0
    least, most = 0.0, room
    for _ in range(20):
        half = (least + most) / 2.0
        least, most = (half, most) if risen(half) < aim else (least, half)
    most = min(most, _careful_litres(projected, water, high))
    too_little = most < 0.01 * projected.volume_l
    return 0.0 if too_little or _mixed_ec(projected, water, most) < ec_low - 0.1 else most


def _careful_litres(projected: Projection, water: KnownWater, edge: float) -> float:
    """What even a weak buffer and a harder water than analysed take without passing the far edge. [L]"""
    per_litre = parcel_of(water.solution.scaled(_TRUE_ALKALINITY[1] / projected.volume_l))
    return careful(b.demand_at_rest(projected.state.cloud(b.POINTS), projected.curve, edge, per_litre))


def _why_top_up(case: Case, projected: Projection, missing: float, water: KnownWater) -> Message:
    usual = water.id == case.waters[0].id and is_single(case, water)
    better = () if usual else (say("keeps-ph-better", name=water.name),)
    strong = (say("on-the-strong-side"),) if projected.ec_ms_cm > sum(case.stage.ec) / 2.0 else ()
    return say("litres-missing", litres=missing, better=better, strong=strong)
