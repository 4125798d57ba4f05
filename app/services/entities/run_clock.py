"""Which moments a running test takes readings of."""

from datetime import datetime, timedelta

from app.domain.entities.run import ReadingGiven, Run
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say

# By so much the clocks of a meter, a phone and this machine may differ.
CLOCKS_DIFFER = timedelta(minutes=2)


def check_moment(run: Run, given: ReadingGiven, now: datetime) -> None:
    """From the start of the test to now. Raises InvalidInput."""
    earliest, latest = run.details.started_at - CLOCKS_DIFFER, now + CLOCKS_DIFFER
    zone = run.details.zone
    if latest < earliest:
        raise InvalidInput.saying(
            say(
                "Set the clock of this machine right: it shows {now}, which is before the start "
                "of the test, {begin}. Then note the reading again.",
                now=now.astimezone(zone),
                begin=run.details.started_at.astimezone(zone),
            ),
            "at",
        )
    if not earliest <= given.at <= latest:
        raise InvalidInput.because(
            say("time of the reading"),
            say("{moment}", moment=given.at.astimezone(zone)),
            say(
                "{begin} to now ({now})",
                begin=run.details.started_at.astimezone(zone),
                now=now.astimezone(zone),
            ),
            "at",
        )
