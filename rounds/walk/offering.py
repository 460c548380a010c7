"""A correction on the walk: offered, written down, done step by step, put off, taken up again after a power cut."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from rounds.book.measurements import BUCKET
from rounds.book.offer import Correction, Readings, form_of
from rounds.book.offered import Offer
from rounds.farm.stations import Reservoir
from rounds.history.record import Draft, Record
from rounds.walk.fresh import answers_beside, asked_values, fresh_records, readings_of
from rounds.walk.half_pairs import half_pair_at, pair_records
from rounds.walk.newer_records import before
from rounds.walk.open_corrections import OpenCorrection, opened
from rounds.walk.session import Session

ADVICE_DAYS = 60
"""How much of the history the advice looks at: change-outs are rarer than weeks."""
LONGEST_DAYS = 400
"""How far back the use of a product is counted where the shelf was last counted long ago."""


def work_out(session: Session, reservoir_id: str, readings: Readings, *, renew: bool = False) -> Correction:
    """The correction of a reservoir for the readings given, without writing anything down.

    Parameters
    ----------
    renew : bool
        Whether it is a change-out, whatever the readings say; never for a helper.
    """
    from rounds.advice.correction import correct  # the chemistry is not needed before the first screen

    records = _advice_records(session)
    begin = _begin_of(session, records)
    earlier = (*buckets_before(session, begin), *pair_records(session, reservoir_id, begin))
    records = [*earlier, *before(session, begin), *records]
    if session.is_helper:
        from rounds.walk.helper import helpers_correction

        return _if_all_is_read(session, helpers_correction(session, records, reservoir_id, readings))
    now = session.now()
    return _if_all_is_read(session, correct(session.farm, records, reservoir_id, readings, now, renew=renew))


def _if_all_is_read(session: Session, found: Correction) -> Correction:
    """The correction; without its steps where a part of the record cannot be read: something may have been poured."""
    unread = session.history.out_of_reach
    if not unread:
        return found
    from rounds.advice.newer_record import shut

    text = f"{unread[0]} What was poured may stand there, so nothing is poured."
    return shut(
        found, "record-unread", text, "`rounds check FARM` names what cannot be read; `--repair` puts it right."
    )


def buckets_before(session: Session, begin: datetime) -> list[Record]:
    """Bucket tests of longer ago: a bottle or a drum that was tried then may still be poured from."""
    tried = [each for each in session.numbers.standing() if each.what == BUCKET and each.at < begin]
    found = (session.history.get(each.record_id) for each in sorted(tried, key=lambda each: each.at))
    return [record for record in found if record is not None]


def _begin_of(session: Session, records: list[Record]) -> datetime:
    return records[0].measured_at if records else session.now()


def answer_of(session: Session, reservoir_id: str) -> str:
    """How a reservoir has answered to its corrections so far, in a sentence; empty where nothing is known."""
    from rounds.advice.words import answer_in_words  # as above

    return answer_in_words(session.farm, _advice_records(session), reservoir_id, session.now())


def _advice_records(session: Session) -> list[Record]:
    counted = [product.counted_on for product in session.farm.shelf.values()]
    shelf_since = datetime.combine(min(counted), time(), session.zone) if counted else session.now()
    longest = session.now() - timedelta(days=LONGEST_DAYS)
    return session.history.records(since=max(longest, min(shelf_since, session.now() - timedelta(days=ADVICE_DAYS))))


def readings_for(session: Session, reservoir_id: str) -> Readings | None:
    """What a correction is worked out from: the fresh readings; where A or B went in alone, none are needed."""
    read = readings_of(session, reservoir_id)
    return Readings(at=session.now()) if read is None and half_pair_at(session, reservoir_id) is not None else read


def offer(
    session: Session, reservoir: Reservoir, round_id: str | None, *, renew: bool = False
) -> OpenCorrection | None:
    """Work a correction out and write it down.

    Parameters
    ----------
    renew : bool
        Whether it is a change-out, which needs no readings.

    Returns
    -------
    OpenCorrection or None
        None where there are no fresh readings and nothing went in alone, or nothing has to be done or said.
    """
    readings = Readings(at=session.now()) if renew else readings_for(session, reservoir.id)
    if readings is None:
        return None
    correction = work_out(session, reservoir.id, readings, renew=renew)
    said = [finding for finding in correction.findings if finding.severity != "note"]
    if not correction.steps and not correction.refusals and not said:
        return None
    (record,) = session.save(_offer_draft(session, reservoir.id, correction, readings, round_id))
    return opened(Offer(record), {})


def _offer_draft(
    session: Session, reservoir_id: str, correction: Correction, readings: Readings, round_id: str | None
) -> Draft:
    data = form_of(correction)
    data["prediction"] = correction.prediction
    data["answer"] = answer_of(session, reservoir_id)
    data["input"] = {
        "ph": readings.ph,
        "ec_ms_cm": readings.ec_ms_cm,
        "temperature_c": readings.temperature_c,
        "dip_cm": readings.dip_cm,
        "records": {item: record.id for item, record in fresh_records(session, reservoir_id).items() if item != "t"},
        "asked": asked_values(session, reservoir_id),
        "answers": {item: record.id for item, record in answers_beside(session, reservoir_id).items()},
    }
    return Draft(
        kind="correction",
        measured_at=session.now(),
        station=reservoir_id,
        person=session.person_name(),
        round_id=round_id,
        data=data,
    )
