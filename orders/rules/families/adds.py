"""Is there an add where the lens needs one, and can it be a real person's add?"""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.prescribing.acuity import Print
from dispensing.trade.adds import believable_add, usual_add
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import above, at_least, below, on_step, outside, same
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("adds").rule


@rule(
    id="add-presence",
    number=20,
    level="stop",
    title="A multifocal lens has an add; an add has its purpose",
    why="A missing or unwanted add is the commonest reason for a lab's call-back (30.5 %).",
)
def add_presence(case: Case) -> Iterator[Finding]:
    for eye in case.eyes:
        if eye.is_multifocal and eye.power.add is None and not _has_no_sight(eye):
            yield Finding(
                f"The {eye.name} has a {eye.kind_words} lens and no add.",
                "Give the add, or choose a single vision lens.",
                eye.eye,
                None,
                "an add",
                "D",
                ("Type the add from the prescription.", "Choose a single vision lens if only one distance is wanted."),
                eye.at("prescription.add"),
            )
        elif eye.kind == "single_vision" and eye.power.add is not None and case.order.pair_use is None:
            yield Finding(
                f"The {eye.name} has an add of {words.power(eye.power.add)} and a single vision lens, and nothing "
                "says which distance it is for.",
                "Say distance, intermediate or near.",
                eye.eye,
                eye.power.add,
                "a stated use",
                "D",
                ("State the use: distance, intermediate or near.", "Choose a multifocal lens."),
                "prescription.use",
            )


def _has_no_sight(eye: EyeCase) -> bool:
    return eye.lens is not None and eye.lens.instruction in ("occluder", "frosted")


@rule(
    id="add-range",
    number=21,
    level="stop",
    title="An add within the range of adds, on the quarter-dioptre step",
    why="Outside it the near sphere, a sign or a decimal point has slipped into the add.",
)
def add_range(case: Case) -> Iterator[Finding]:
    least, most = case.limit("add-range", "least_d"), case.limit("add-range", "most_d")
    step = case.limit("add-range", "step_d")
    for eye in case.both:
        add = eye.power.add
        if add is None:
            continue
        if below(add, least) or above(add, most):
            limit = least if below(add, least) else most
            allowed = f"adds go from {words.power(least)} to {words.power(most)}"
        elif not on_step(add, step):
            limit, allowed = step, f"adds go in steps of {words.dioptres(step)}"
        else:
            continue
        yield Finding(
            f"The add of the {eye.name} is {words.power(add)}; {allowed}.",
            _advice(eye, add, (least, most, step)),
            eye.eye,
            add,
            limit,
            "D",
            (_advice(eye, add, (least, most, step)),),
            eye.at("prescription.add"),
        )


def _advice(eye: EyeCase, add: float, limits: tuple[float, float, float]) -> str:
    """If the figure makes sense as a near sphere, say which add that gives. ``limits``: least, most and step, D."""
    least, most, step = limits
    sphere = eye.power.sphere
    if sphere is not None and least <= add - sphere <= most and on_step(add - sphere, step):
        return f"If this is the near sphere, the add is {words.power(add - sphere)}."
    return "Type the add again from the prescription."


@rule(
    id="add-for-age",
    number=22,
    level="ask",
    title="An add that goes with the age",
    why="An add far from what the age needs is often a near sphere, another working distance, or another patient.",
)
def add_for_age(case: Case) -> Iterator[Finding]:
    if case.age is None:
        return
    (low, high), (least, most) = usual_add(case.age), believable_add(case.age, case.limits)
    odd = [eye for eye in case.both if eye.power.add is not None and outside(eye.power.add, least, most)]
    alike = len(odd) == 2 and odd[0].power.add == odd[1].power.add
    for eye in odd[:1] if alike else odd:
        add = eye.power.add or 0.0
        whose = "both eyes" if alike else f"the {eye.name}"
        usual = f"{words.power(low)} to {words.power(high)} is usual" if high else "none is usual"
        yield Finding(
            f"The add of {whose} is {words.power(add)} at the age of {case.age}; {usual}.",
            "Is it the near sphere, or for a special working distance? Confirm it.",
            "both" if alike else eye.eye,
            add,
            least if add < low else most,
            "D",
            ("Type the add again from the prescription.", "Confirm if a working distance or low vision asks for it."),
            eye.at("prescription.add"),
        )


@rule(
    id="near-print",
    number=121,
    level="ask",
    title="What is read with the add goes with the sight far off",
    why="An eye that sees well far off and reads only large print has the wrong add, or something wrong at the macula.",
)
def near_print(case: Case) -> Iterator[Finding]:
    poor = [eye for eye in case.both if _reads_little(case, eye)]
    alike = len(poor) == 2 and poor[0].acuity.written == poor[1].acuity.written
    for eye in poor[:1] if alike else poor:
        kind, size = eye.acuity.print_read or ("N", 0.0)
        most = case.limit("near-print", PRINT_LIMITS[kind])
        yield Finding(
            f"{'Each eye' if alike else f'The {eye.name}'} reads {_print(kind, size)} with its add of "
            f"{words.power(eye.power.add or 0.0)} and sees well far off ({eye.acuity.written}); such an eye usually "
            f"reads {_print(kind, most)} or smaller.",
            "Ask the prescriber: is the add right, and is the cause known? The licensed practitioner decides.",
            "both" if alike else eye.eye,
            _print(kind, size),
            _print(kind, most),
            None,
            (
                "Type the add and the acuity again from the prescription.",
                "Confirm that the prescriber knows the cause.",
            ),
            eye.at("prescription.acuity"),
        )


PRINT_LIMITS: dict[Print, str] = {"N": "n_points", "J": "jaeger_number", "M": "m_units"}


def _print(kind: Print, size: float) -> str:
    return f"{words.number(size)} M" if kind == "M" else f"{kind}{words.number(size)}"


def _reads_little(case: Case, eye: EyeCase) -> bool:
    far, read = eye.acuity.decimal, eye.acuity.print_read
    if read is None or far is None or not eye.power.add:
        return False
    kind, size = read
    return at_least(far, case.limit("near-print", "far_acuity")) and above(
        size, case.limit("near-print", PRINT_LIMITS[kind])
    )


@rule(
    id="adds-unequal",
    number=23,
    level="ask",
    title="The same add in both eyes",
    why="Adds seldom differ; when they do on the order, one is usually mistyped.",
)
def adds_unequal(case: Case) -> Iterator[Finding]:
    right, left = case.right.power.add, case.left.power.add
    if right is None and left is None:
        return
    if right is None or left is None:
        # Another rule stops a multifocal lens that lacks its add.
        if case.right.is_multifocal or case.left.is_multifocal or not case.is_pair:
            return
    elif same(right, left):
        return
    both = f"right {_or_none(right)}, left {_or_none(left)}"
    yield Finding(
        f"The adds differ ({both}).",
        "Confirm with the prescription that they are meant to.",
        "both",
        both,
        "equal adds",
        "D",
        ("Correct the add that was mistyped.", "Confirm if the prescription has them so."),
        "prescription.left.add",
    )


def _or_none(add: float | None) -> str:
    return "none" if add is None else words.power(add)


@rule(
    id="intermediate-add",
    number=24,
    level="ask",
    title="The intermediate add is less than the near add",
    why="Intermediate lies between far and near; about half of the near add is usual.",
)
def intermediate_add(case: Case) -> Iterator[Finding]:
    for eye in case.both:
        middle, near = eye.prescribed.intermediate_add or None, eye.power.add
        if middle is None or near is None or (middle > 0.0 and below(middle, near)):
            continue
        yield Finding(
            f"The intermediate add of the {eye.name} is {words.power(middle)} and the near add "
            f"{words.power(near)}; the intermediate add must be less, usually about half.",
            "Are the two exchanged?",
            eye.eye,
            middle,
            near,
            "D",
            ("Exchange the two if they stand in each other's place.", "Type both again from the prescription."),
            eye.at("prescription.intermediate_add"),
        )
