"""Does the order say what lens an eye that sees little is to get?"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.prescribing.acuity import in_metres
from orders.documents.names import INSTRUCTIONS
from orders.documents.order_report import FindingEye, Level
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("weak eyes").rule


@rule(
    id="low-acuity-eye",
    number=29,
    level=("stop", "ask"),
    title="An eye that sees little has its instruction",
    why="The lab cannot know whether such an eye is to have its power, a balance lens or an occluder.",
)
def low_acuity_eye(case: Case) -> Iterator[Finding]:
    poor = case.poor_acuity
    yield from _instructed_wrongly(case)
    if case.has_two_poor_eyes:
        yield from _two_poor_eyes(case)
        return
    for eye in case.eyes:
        if eye.lens is None or eye.lens.instruction is not None or eye.balance_prescribed:
            continue
        if eye.acuity.is_at_most(poor):
            yield _no_instruction(eye, poor)
        elif eye.eye in case.remarks.unseeing:
            yield _said_not_to_see(eye)
        elif eye.acuity.may_be_either_side_of(poor):
            yield _cannot_tell(eye, poor)
        elif eye.acuity.is_a_slip:
            yield _slip(eye, poor)


def _two_poor_eyes(case: Case) -> Iterator[Finding]:
    """A balance lens is no use to these wearers. One already registered has been asked about it."""
    if case.order.patient.protected is True:
        return
    right, left = (eye.acuity.said for eye in case.both)
    yield Finding(
        f"Both eyes see little: right {right}, left {left}.",
        "Is the wearer registered as sight-impaired? Confirm the powers as written.",
        "both",
        f"{right}, {left}",
        in_metres(case.poor_acuity),
        None,
        ("Mark the patient as protected, if registered.", "Confirm the powers as written."),
        "patient.protected",
        "ask",
    )


def _instructed_wrongly(case: Case) -> Iterator[Finding]:
    """An instruction given for both eyes, or for an eye that sees; a stop where nothing would be left to see with."""
    told = [(eye, eye.lens.instruction) for eye in case.eyes if eye.lens and eye.lens.instruction]
    if len(told) == len(case.both):
        said = words.listed(f"{eye.eye} {INSTRUCTIONS[instruction]}" for eye, instruction in told)
        text = f"Neither lens is to be seen through: {said}."
        level: Level = "ask" if any(instruction == "balance" for _, instruction in told) else "stop"
        yield _wrong_instruction(text, "both", said, "one lens to see through", told[0][0], level)
        return
    for eye, instruction in told:
        fellow = case.left if eye.eye == "right" else case.right
        yield from _for_an_eye_that_sees(case, eye, fellow, INSTRUCTIONS[instruction])


def _for_an_eye_that_sees(case: Case, eye: EyeCase, fellow: EyeCase, told: str) -> Iterator[Finding]:
    own, other, unseeing = eye.acuity.decimal, fellow.acuity.decimal, case.remarks.unseeing
    useful = case.limit("low-acuity-eye", "useful_acuity")
    if fellow.eye in unseeing and eye.eye not in unseeing:
        said = unseeing[fellow.eye]
        text = f"The remarks say “{said}” of the {fellow.name}, and it is the {eye.name} that is to have: {told}."
        yield _wrong_instruction(text, eye.eye, told, f"{told} for the {fellow.name}", eye, "stop")
    elif own is not None and other is not None and own > other:
        text = (
            f"The {eye.name} sees better ({eye.acuity.said}) than the {fellow.name} ({fellow.acuity.said}), and is to "
            f"have: {told}."
        )
        level: Level = "stop" if fellow.acuity.is_at_most(case.poor_acuity) else "ask"
        yield _wrong_instruction(text, eye.eye, eye.acuity.written, fellow.acuity.written, eye, level)
    elif own is not None and at_least(own, useful) and not (eye.balance_prescribed and told == INSTRUCTIONS["balance"]):
        text = f"The {eye.name} sees well ({eye.acuity.said}), and is to have: {told}."
        yield _wrong_instruction(text, eye.eye, eye.acuity.written, f"worse than {in_metres(useful)}", eye, "ask")


def _wrong_instruction(text: str, whose: FindingEye, found: str, limit: str, eye: EyeCase, level: Level) -> Finding:
    return Finding(
        text,
        "Ask the prescriber who wants it so and which eye is meant. Local rules and the licensed practitioner decide.",
        whose,
        found,
        limit,
        None,
        ("Instruct the other eye.", "Confirm if the prescriber has it so."),
        eye.at("lenses.instruction"),
        level,
    )


def _said_not_to_see(eye: EyeCase) -> Finding:
    said = eye.case.remarks.unseeing[eye.eye]
    return Finding(
        f"The remarks say “{said}” of the {eye.name}, and no balance, occluder or frosted lens is asked for.",
        "Say which it is to have: its lens is chosen for looks, like its fellow.",
        eye.eye,
        said,
        "an instruction",
        None,
        ("Instruct a balance lens.", "Instruct an occluder or frosted lens.", "Confirm the power as written."),
        eye.at("lenses.instruction"),
        "ask",
    )


def _no_instruction(eye: EyeCase, poor: float) -> Finding:
    doubt = f" ({eye.acuity.doubt})" if eye.acuity.doubt else ""
    return Finding(
        f"The acuity of the {eye.name} is {eye.acuity.said}{doubt}, and no balance, occluder or frosted lens is "
        "asked for.",
        "Say which it is to have, or confirm the power.",
        eye.eye,
        eye.acuity.written,
        in_metres(poor),
        None,
        ("Instruct a balance lens.", "Instruct an occluder or frosted lens.", "Confirm the power as written."),
        eye.at("lenses.instruction"),
        "ask",
    )


def _cannot_tell(eye: EyeCase, poor: float) -> Finding:
    acuity = eye.acuity
    return Finding(
        f"The acuity of the {eye.name} is written as {acuity.written}: {acuity.question()}.",
        acuity.how_to_write(),
        eye.eye,
        acuity.written,
        in_metres(poor),
        None,
        (acuity.how_to_write(), "Confirm that the eye sees well enough for its power."),
        eye.at("prescription.acuity"),
        "ask",
    )


def _slip(eye: EyeCase, poor: float) -> Finding:
    return Finding(
        f"The acuity of the {eye.name} is written as {eye.acuity.written}, which no chart has.",
        "Correct it, or confirm that the eye sees well enough for its power.",
        eye.eye,
        eye.acuity.written,
        in_metres(poor),
        None,
        ("Correct the acuity.", "Confirm that the eye sees well enough for its power."),
        eye.at("prescription.acuity"),
        "ask",
    )


@rule(
    id="balance-stated",
    number=75,
    level=("stop", "ask"),
    title="A balance lens is like its fellow",
    why="A balance lens that differs in power looks different and weighs differently.",
)
def balance_stated(case: Case) -> Iterator[Finding]:
    most = case.limit("balance-stated", "difference_d")
    for eye, fellow in ((case.right, case.left), (case.left, case.right)):
        if eye.lens is None:
            continue
        if eye.balance_prescribed and eye.lens.instruction != "balance":
            yield _not_as_prescribed(eye)
            continue
        if fellow.made_power.mean_sphere is None:
            continue
        own, wanted = eye.made_power.mean_sphere, fellow.made_power.mean_sphere
        if own is not None and not above(abs(own - wanted), most):
            continue
        nothing_typed = eye.power.sphere is not None and not above(abs(eye.power.sphere), 0.0)
        if eye.lens.instruction == "balance":
            yield _unlike_its_fellow(eye, own, wanted, nothing_typed)
        elif eye.lens.instruction is None and eye.acuity.is_at_most(case.poor_acuity) and own == 0.0 and nothing_typed:
            yield _plano_for_a_poor_eye(eye, wanted)


def _not_as_prescribed(eye: EyeCase) -> Finding:
    assert eye.lens is not None
    found = INSTRUCTIONS[eye.lens.instruction] if eye.lens.instruction else "a corrected lens"
    return Finding(
        f"The prescription has a balance lens for the {eye.name}; the order has: {found}.",
        "Instruct a balance lens, or confirm what the prescriber agreed to.",
        eye.eye,
        found,
        INSTRUCTIONS["balance"],
        None,
        ("Instruct a balance lens.", "Confirm if the prescriber has agreed to it."),
        eye.at("lenses.instruction"),
        "ask",
    )


def _unlike_its_fellow(eye: EyeCase, own: float | None, wanted: float, nothing_typed: bool) -> Finding:
    stated = "no power" if own is None else words.power(own)
    return Finding(
        f"The {eye.name} is to have a balance lens and has {stated}; its fellow has a mean sphere of "
        f"{words.power(wanted)}.",
        f"Write the fellow's mean sphere{'' if nothing_typed else ', or confirm'}.",
        eye.eye,
        own,
        wanted,
        "D",
        (f"Write “balance, {words.power(wanted)}”, in the same tint and thickness.",),
        eye.at("prescription.sphere"),
        "stop" if nothing_typed else "ask",
    )


def _plano_for_a_poor_eye(eye: EyeCase, wanted: float) -> Finding:
    return Finding(
        f"The acuity of the {eye.name} is {eye.acuity.said} and its power is typed as 0.00, beside a mean sphere of "
        f"{words.power(wanted)}.",
        "If it is to have a balance lens, say so; if it is plano, lift this with the reason.",
        eye.eye,
        0.0,
        wanted,
        "D",
        (f"Instruct a balance lens of {words.power(wanted)}.", "Instruct an occluder or frosted lens."),
        eye.at("lenses.instruction"),
    )
