"""The figures that the page of the discharge curves begins with."""

from app.analysis.battery.answers import Answer
from app.analysis.battery.battery_report import BatteryReport
from app.analysis.heat.observed_loss import observed_loss
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import say, written_day
from app.domain.units.rounding import rounded_down


def curves_answers(report: BatteryReport) -> tuple[Answer, ...]:
    """The newest and the first test that count, and what lies between the measured ones."""
    counting = [
        one
        for one in report.tests
        if not one.left_out_reason and one.kind is not EvidenceKind.UNUSABLE
    ]
    if not counting:
        return ()
    shown = counting[-1:] if len(counting) == 1 else [counting[-1], counting[0]]
    labels = (say("Newest test"), say("First test"))
    made = []
    for label, one in zip(labels, shown, strict=False):
        day = written_day(one.started_at.date())
        if one.kind is EvidenceKind.MEASURED:
            figure = say("{ah:.1f} Ah", ah=one.capacity_ah)
            doubt = say("± {ah:.1f} Ah, {day}", ah=one.expanded_ah, day=day)
        else:
            figure = say("at least {ah:.1f} Ah", ah=rounded_down(one.lower_ah))
            doubt = day
        made.append(Answer(label, figure, doubt))
    lost = observed_loss(report)
    if lost is not None:
        ah = report.rated_ah / 100
        figure = say("{ah:.1f} Ah", ah=lost.lost_percent * ah)
        doubt = say("± {ah:.1f} Ah, very likely", ah=lost.half_width * ah)
        since = say("since {day}", day=written_day(lost.from_day))
        made.append(Answer(lost.label, figure, doubt, since))
    return tuple(made)
