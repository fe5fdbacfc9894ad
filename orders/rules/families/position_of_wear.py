"""How the lens sits in front of the eye: vertex distance, tilt and face form, and their effect on the power."""

from __future__ import annotations

from collections.abc import Iterator

from dispensing.optics.errors import OpticsError
from dispensing.optics.vertex import vertex_effect as effect_of_moving
from dispensing.trade.position_of_wear import usual_vertex_mm, vertex_meant_mm
from orders.rules import words
from orders.rules.case import Case, EyeCase
from orders.rules.compare import at_least, outside
from orders.rules.finding import Finding
from orders.rules.registry import Family

rule = Family("position of wear").rule


@rule(
    id="vertex-effect",
    number=15,
    level=("stop", "ask"),
    title="Strong powers are carried to the distance they are worn at",
    why="A strong lens worn nearer or farther than it was tested is another power at the eye.",
)
def vertex_effect(case: Case) -> Iterator[Finding]:
    """An implausible distance is questioned by the rule on its range, and no power is ever worked out for it."""
    tested = case.tested_vertex_mm
    for eye in case.eyes:
        strongest, worn = eye.made_power.strongest_d, eye.worn_vertex_mm
        if strongest is None:
            continue
        if case.order.prescription.vertex_mm is None:
            yield from _unknown_vertex(case, eye, strongest)
        elif eye.fitted.vertex_mm is None:
            yield from _nothing_worn(case, eye, strongest)
        elif tested is not None and worn is not None and not case.is_compensated_here:
            yield from _changed_vertex(case, eye, strongest, tested, worn)


def _unknown_vertex(case: Case, eye: EyeCase, strongest: float) -> Iterator[Finding]:
    strong = case.limit("vertex-effect", "power_d")
    if at_least(strongest, strong):
        yield Finding(
            f"The {eye.name} has {words.dioptres(strongest)} and the vertex distance of the test is not given; "
            f"from {words.dioptres(strong)} on it must be.",
            "Ask the prescriber.",
            eye.eye,
            strongest,
            strong,
            "D",
            ("Ask the prescriber for the vertex distance of the test.",),
            "prescription.vertex_mm",
        )


def _nothing_worn(case: Case, eye: EyeCase, strongest: float) -> Iterator[Finding]:
    strong = case.limit("vertex-effect", "power_d")
    if at_least(strongest, strong):
        yield Finding(
            f"The {eye.name} has {words.dioptres(strongest)} and nobody measured the vertex distance as worn; from "
            f"{words.dioptres(strong)} on a few millimetres change the power at the eye.",
            "Measure it in this frame, adjusted.",
            eye.eye,
            strongest,
            strong,
            "D",
            ("Measure the vertex distance in this frame.", "Confirm that it is worn where it was tested."),
            eye.at("fitting.vertex_mm"),
            "ask",
        )


def _changed_vertex(case: Case, eye: EyeCase, strongest: float, tested: float, worn: float) -> Iterator[Finding]:
    limit = case.limit("vertex-effect", "effect_d")
    try:
        effect = effect_of_moving(strongest, worn - tested)
    except OpticsError:
        return  # A power or distance that no lens has is found by its own rules.
    if at_least(effect, limit):
        yield Finding(
            f"Tested at {words.mm(tested)} and worn at {words.mm(worn)}, the {eye.eye} lens of "
            f"{words.dioptres(strongest)} changes by about {words.dioptres(effect)}; from {words.dioptres(limit)} "
            "on it counts.",
            "Order the carried power, or tell the lab both distances; never both.",
            eye.eye,
            effect,
            limit,
            "D",
            ("Order the power carried to the worn distance.", "Or leave the power and let the lab carry it."),
            eye.at("fitting.vertex_mm"),
            "ask",
        )


@rule(
    id="vertex-band",
    number=42,
    level="ask",
    title="A vertex distance that tests and frames have",
    why="Far from what is usual the reading is wrong or the frame sits badly; a slip carried into a power hurts.",
)
def vertex_band(case: Case) -> Iterator[Finding]:
    low, high = usual_vertex_mm(case.limits)
    least, most = case.limit("vertex-band", "least_mm"), case.limit("vertex-band", "most_mm")
    tested = case.order.prescription.vertex_mm
    if tested is not None and case.tested_vertex_mm is None:
        yield _vertex_slip(case, "Test vertex", tested, None, "prescription.vertex_mm")
    for eye in case.eyes:
        vertex = eye.fitted.vertex_mm
        if vertex is None or not outside(vertex, low, high):
            continue
        if eye.worn_vertex_mm is None:
            yield _vertex_slip(case, f"{eye.eye.capitalize()} worn vertex", vertex, eye, eye.at("fitting.vertex_mm"))
            continue
        far_off = outside(vertex, least, most)
        advice = "Measure it again, or adjust the frame." if far_off else "Confirm it; the lab needs it."
        yield Finding(
            f"The vertex distance of the {eye.name} is {words.mm(vertex)}; {words.mm(low)} to {words.mm(high)} is "
            "usual.",
            advice,
            eye.eye,
            vertex,
            low if vertex < low else high,
            "mm",
            ("Measure it again with the frame adjusted.",),
            eye.at("fitting.vertex_mm"),
        )


def _vertex_slip(case: Case, what: str, vertex: float, eye: EyeCase | None, field: str) -> Finding:
    low, high = case.limit("vertex-band", "possible_least_mm"), case.limit("vertex-band", "possible_most_mm")
    meant = vertex_meant_mm(vertex, case.limits)
    guess = "" if meant is None else f"{words.mm(meant)}? "
    source = "Look at the prescription again or ask the prescriber" if eye is None else "Measure it again"
    return Finding(
        f"{what} {words.mm(vertex)} cannot be right: a lens sits {words.mm(low)} to {words.mm(high)} before the eye.",
        f"{guess}{source}; until then no power is carried to or from it.",
        eye.eye if eye else None,
        vertex,
        low if vertex < low else high,
        "mm",
        (f"{source}.",),
        field,
    )


@rule(
    id="pantoscopic-band",
    number=43,
    level="ask",
    title="A pantoscopic tilt that frames have",
    why="Outside the tilts that frames have the reading is wrong or the frame sits badly.",
)
def pantoscopic_band(case: Case) -> Iterator[Finding]:
    yield from _angle(
        case, "pantoscopic-band", case.order.fitting.pantoscopic_deg, "pantoscopic tilt", "pantoscopic_deg"
    )


@rule(
    id="face-form-band",
    number=44,
    level="ask",
    title="A face form that frames have",
    why="Beyond the bend of any wrap the reading is of something else.",
)
def face_form_band(case: Case) -> Iterator[Finding]:
    yield from _angle(case, "face-form-band", case.order.fitting.face_form_deg, "face form", "face_form_deg")


def _angle(case: Case, rule_id: str, value: float | None, name: str, key: str) -> Iterator[Finding]:
    low, high = case.limit(rule_id, "least_deg"), case.limit(rule_id, "most_deg")
    if value is not None and outside(value, low, high):
        yield Finding(
            f"The {name} is {words.degrees(value)}; frames have {words.degrees(low)} to {words.degrees(high)}.",
            "Measure it again, or adjust the frame.",
            None,
            value,
            low if value < low else high,
            "°",
            ("Measure it again on the face.", "Adjust the frame."),
            f"fitting.{key}",
        )


@rule(
    id="as-worn-set",
    number=45,
    level="stop",
    title="The figures of wear that the design needs",
    why="A personalised lens without them is made for an average face, and paid for as personalised.",
)
def as_worn_set(case: Case) -> Iterator[Finding]:
    fitting = case.order.fitting
    needing = {need: [eye for eye in case.eyes if eye.design and need in eye.design.needs] for need in NEEDS}
    for eye in needing["vertex"]:
        if eye.fitted.vertex_mm is None:
            yield _missing(eye, f"vertex distance of the {eye.name}", eye.at("fitting.vertex_mm"), eye.eye)
    if needing["pantoscopic"] and fitting.pantoscopic_deg is None:
        yield _missing(needing["pantoscopic"][0], "pantoscopic tilt", "fitting.pantoscopic_deg", None)
    if needing["face_form"] and fitting.face_form_deg is None:
        yield _missing(needing["face_form"][0], "face form", "fitting.face_form_deg", None)


NEEDS = ("vertex", "pantoscopic", "face_form")


def _missing(eye: EyeCase, name: str, field: str, whose: str | None) -> Finding:
    design = eye.design.name if eye.design else "This lens"
    return Finding(
        f"{design} is made for the position of wear, and the {name} is missing.",
        "Measure it, or choose a lens that does not need it.",
        eye.eye if whose else None,
        None,
        f"the {name}",
        "mm" if whose else "°",
        (f"Measure the {name}.", "Choose a lens that does not need it."),
        field,
    )
