"""What stands in the remarks and must not stay there: a symptom for a doctor, and whatever the fields say otherwise.

The words are the trade's table of remark words; whether the order says the same is decided beside this file.
"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.trade.remark_words import Mention, mentions
from orders.rules.case import Case
from orders.rules.finding import Finding
from orders.rules.registry import Family
from orders.rules.remark_agrees import agrees

rule = Family("remarks").rule


@rule(
    id="doctor-first",
    number=110,
    level="ask",
    title="No symptom that a doctor should see first",
    why="Some things that patients mention in passing are urgent, and new spectacles would only hide them.",
)
def doctor_first(case: Case) -> Iterator[Finding]:
    for mention in mentions(case.order.remarks, "doctor"):
        yield Finding(
            f"The remarks speak of {mention.meaning.about}: “{mention.said}”.",
            f"To a doctor first. {mention.meaning.question} Local rules and the licensed practitioner decide.",
            None,
            mention.said,
            "no symptom in the remarks",
            None,
            ("Ask the prescriber or a doctor, and note what they said.", "Confirm that they know of it."),
            "remarks",
        )


@rule(
    id="remarks-contradict",
    number=110,
    level="ask",
    title="Remarks hold nothing that the fields do not say",
    why="What stands in the remarks is overlooked or contradicts the fields; the lab must ask which holds.",
)
def remarks_contradict(case: Case) -> Iterator[Finding]:
    for mention in mentions(case.order.remarks, "order"):
        if _is_reason_of_remake(case, mention) or agrees(case, mention):
            continue
        yield Finding(
            f"The remarks speak of {mention.meaning.about} (“{mention.said}”){_otherwise(mention)}.",
            mention.meaning.question,
            None,
            mention.said,
            "what the fields say",
            None,
            ("Put it in its field and clear the remark.", "Confirm that remark and fields agree."),
            "remarks",
        )


def _is_reason_of_remake(case: Case, mention: Mention) -> bool:
    """A remake's remark tells what was wrong with the first pair; only a wish for this one is asked about."""
    return case.order.purpose == "remake" and not mention.meaning.of_remakes


def _otherwise(mention: Mention) -> str:
    return ", and the fields say nothing of the kind" if mention.meaning.agrees else ", for which there is no field"
