# ruff: noqa: E501 - tables of words and of cells, a row a line
"""Layouts of prescriptions that we made up: each puts one prescription on a sheet and says which fields it prints."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from tests.reading.invented import DEGREES, Invented, OneEye
from tests.reading.sheets import FONTS, PaperSheet

Layout = Callable[[Invented, PaperSheet], set[str]]
POWERS = {"sphere", "cylinder", "axis"}
ALL = POWERS | {"add", "prism", "acuity"}


def cells(p: Invented, eye: OneEye, none: str = "") -> dict[str, str]:
    return {
        "sphere": p.sphere(eye),
        "cylinder": p.number(eye.cylinder) if eye.cylinder else none,
        "axis": str(eye.axis) if eye.axis else none,
        "add": p.number(eye.add) if eye.add else none,
        "prism": p.number(eye.prism[0], signed=False) if eye.prism else none,
        "base": p.base(eye) or none,
        "acuity": eye.acuity or "",
    }


def heads(p: Invented, sheet: PaperSheet, title: bool = True) -> float:
    if title:
        sheet.put(90, 70, p.word("title"), size=sheet.size + 12, bold=True)
    sheet.put(90, 140, f"{p.word('patient')}: {p.patient}")
    sheet.put(660, 140, f"{p.word('born_on')}: {p.day(p.born_on)}")
    return 230


def foot(p: Invented, sheet: PaperSheet, y: float, *names: str) -> set[str]:
    """Facts below the powers, two on a line."""
    texts = {
        "tested_on": f"{p.word('tested_on')}: {p.day(p.tested_on)}",
        "expires_on": f"{p.word('expires_on')}: {p.day(p.expires_on)}",
        "pd": f"{p.word('pd')}: {p.number(p.pd, 1, signed=False)} mm",
        "vertex": f"{p.word('vertex')} {p.number(p.vertex, 0, signed=False)} mm",
        "prescriber": f"{p.word('prescriber')}: {p.prescriber}",
    }
    for place, name in enumerate(names):
        sheet.put(90 + 560 * (place % 2), y + 60 * (place // 2), texts[name])
    return set(names)


def ruled_table(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    names = ["sphere", "cylinder", "axis", "add", "prism", "base", "acuity"]
    rows = [["", *map(p.word, names)]]
    for name in ("right", "left"):
        values = cells(p, getattr(p, name))
        rows.append([p.word(name), *(values[n] for n in names)])
    y = s.table(90, y, [80, 140, 140, 120, 150, 130, 150, 150], 64, rows, True, True)
    return ALL | foot(p, s, y + 60, "tested_on", "expires_on", "pd", "vertex", "prescriber")


def open_table(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    names = ["sphere", "cylinder", "axis", "add", "acuity"]
    rows = [["", *map(p.word, names)]]
    for name in ("right", "left"):
        values = cells(p, getattr(p, name), "-")
        rows.append([p.word(f"{name}_long"), *(values[n] for n in names)])
    y = s.table(90, y, [260, 160, 160, 150, 170, 160], 52, rows, False, False)
    return POWERS | {"add", "acuity"} | foot(p, s, y + 50, "prescriber", "tested_on", "vertex", "pd")


def transposed(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    rows = [["", p.word("right_long"), p.word("left_long")]]
    both = [cells(p, p.right), cells(p, p.left)]
    for name, head in (("sphere", "sphere_long"), ("cylinder", "cylinder_long"), ("axis", "axis"), ("add", "add"),
                       ("prism", "prism"), ("base", "base"), ("acuity", "acuity")):  # fmt: skip
        rows.append([p.word(head), *(values[name] for values in both)])
    y = s.table(90, y, [300, 280, 280], 60, rows, True, True)
    return ALL | foot(p, s, y + 60, "tested_on", "vertex", "prescriber")


def side_by_side(p: Invented, s: PaperSheet) -> set[str]:
    """R beside L, with a row for far and one for near that gives the whole near power."""
    s.width, s.height = 1754, 1240
    y = heads(p, s)
    s.put(240, y, p.word("right_long"), bold=True, centred=640)
    s.put(880, y, p.word("left_long"), bold=True, centred=640)
    names = ["sphere", "cylinder", "axis", "prism", "base"]
    rows = [["", *(p.word(n) for _ in range(2) for n in names)], [p.word("distance")]]
    for eye in (p.right, p.left):
        values = cells(p, eye)
        rows[1] += [values[n] for n in names]
    if p.right.add:
        near = [p.word("near")]
        for eye in (p.right, p.left):
            values = cells(p, replace(eye, sphere=eye.sphere + (eye.add or 0), prism=None))
            near += [values[n] for n in names]
        rows.append(near)
    y = s.table(60, y + 40, [180, *([140, 130, 110, 120, 150] * 2)], 66, rows, True, True)
    return POWERS | {"add", "prism"} | foot(p, s, y + 50, "tested_on", "pd", "prescriber", "vertex")


def plain_lines(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    for name in ("right", "left"):
        eye: OneEye = getattr(p, name)
        said = f"{p.word(name)}: {p.sphere(eye)}"
        said += f" / {p.number(eye.cylinder)} x {eye.axis}" if eye.cylinder else " DS"
        said += f"   {p.word('add')} {p.number(eye.add)}" if eye.add else ""
        said += f"   {p.number(eye.prism[0], 1, signed=False)} Δ {p.base(eye, 1)}" if eye.prism else ""
        s.put(90, y, said)
        y += 56
    return POWERS | {"add", "prism"} | foot(p, s, y + 40, "pd", "vertex", "tested_on", "expires_on", "prescriber")


def worded_lines(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    for name in ("right", "left"):
        eye: OneEye = getattr(p, name)
        said = f"{p.word(f'{name}_long')}: {p.word('sphere').lower()} {p.sphere(eye)}"
        said += (
            f"  {p.word('cylinder').lower()} {p.number(eye.cylinder)}  {p.word('axis')} {eye.axis}°"
            if eye.cylinder
            else ""
        )
        said += f"  {p.word('add')} {p.number(eye.add)}" if eye.add else ""
        said += f"  {p.word('acuity')} {eye.acuity}"
        s.put(90, y, said)
        y += 60
    return POWERS | {"add", "acuity"} | foot(p, s, y + 40, "tested_on", "pd", "prescriber")


def blocks(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    for name in ("right", "left"):
        eye: OneEye = getattr(p, name)
        s.put(90, y, p.word(f"{name}_long"), bold=True, size=s.size + 4)
        y += 52
        values = cells(p, eye)
        for what, head in (("sphere", "sphere_long"), ("cylinder", "cylinder_long"), ("axis", "axis"), ("add", "add")):
            if values[what]:
                s.put(120, y, f"{p.word(head)}:")
                s.put(380, y, values[what])
                y += 44
        y += 26
    return POWERS | {"add"} | foot(p, s, y + 20, "tested_on", "expires_on", "prescriber", "vertex")


def brackets(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    for name in ("right", "left"):
        eye: OneEye = getattr(p, name)
        said = f"{p.word(name)} : {p.sphere(eye)}" + (
            f" ({p.number(eye.cylinder)} à {eye.axis}°)" if eye.cylinder else ""
        )
        said += f"  {p.word('add')} {p.number(eye.add)}" if eye.add else ""
        s.put(90, y, said)
        y += 60
    return POWERS | {"add"} | foot(p, s, y + 30, "prescriber", "tested_on", "pd")


def far_and_near_boxes(p: Invented, s: PaperSheet) -> set[str]:
    """A cell over two rows names the distance; the near box gives the add."""
    y = heads(p, s)
    names = ["sphere", "cylinder", "axis", "prism", "base"]
    rows = [["", "", *map(p.word, names)]]
    for name in ("right", "left"):
        values = cells(p, getattr(p, name))
        rows.append(["", p.word(name), *(values[n] for n in names)])
    end = s.table(90, y, [190, 70, 150, 150, 130, 150, 170], 60, rows, True, True)
    s.put(100, y + 60 + 45, p.word("distance"), bold=True)
    if p.right.add:
        both = f"{p.word('add')} {p.word('near')}"
        s.put(
            100,
            end + 30,
            f"{both}   {p.word('right')} {p.number(p.right.add)}   {p.word('left')} {p.number(p.left.add or 0)}",
        )
    return POWERS | {"add", "prism"} | foot(p, s, end + 110, "tested_on", "vertex", "pd", "expires_on", "prescriber")


def two_prisms(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    prism, base = p.word("prism"), p.word("base")
    rows = [["", *map(p.word, ("sphere", "cylinder", "axis")), f"{prism} H", base, f"{prism} V", base, p.word("add")]]
    for name in ("right", "left"):
        eye: OneEye = getattr(p, name)
        values = cells(p, eye)
        level = bool(eye.prism and eye.prism[1] in ("in", "out"))
        pair = [values["prism"], values["base"]]
        rows.append([p.word(name), values["sphere"], values["cylinder"], values["axis"],
                     *(pair if level else ["", ""]), *(["", ""] if level else pair), values["add"]])  # fmt: skip
    y = s.table(60, y, [70, 130, 130, 110, 150, 150, 150, 150, 120], 64, rows, True, True)
    return POWERS | {"add", "prism"} | foot(p, s, y + 50, "tested_on", "prescriber", "pd")


def old_and_new(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    names = ["sphere", "cylinder", "axis", "add"]
    for title, by in (("old", 0.5), ("new", 0.0)):
        s.put(90, y, p.word(title), bold=True)
        rows = [["", *map(p.word, names)]]
        for name in ("right", "left"):
            eye: OneEye = getattr(p, name)
            values = cells(p, replace(eye, sphere=eye.sphere + by))
            rows.append([p.word(name), *(values[n] for n in names)])
        y = s.table(90, y + 44, [80, 170, 170, 150, 170], 54, rows, True, True) + 50
    return POWERS | {"add"} | foot(p, s, y, "tested_on", "prescriber")


def slip(p: Invented, s: PaperSheet) -> set[str]:
    """A narrow slip as a till prints it."""
    s.width, s.height, s.face = 760, 1100, "DejaVuSansMono"
    s.put(50, 50, p.word("title"), bold=True)
    s.put(50, 100, f"{p.word('tested_on')} {p.day(p.tested_on)}")
    names = ["sphere", "cylinder", "axis"]
    rows = [["", *map(p.word, names)]]
    for name in ("right", "left"):
        values = cells(p, getattr(p, name), "--")
        rows.append([p.word(name), *(values[n] for n in names)])
    y = s.table(50, 170, [90, 190, 190, 150], 50, rows, False, False, bold=False)
    if p.right.add:
        s.put(50, y + 10, f"{p.word('add')} {p.number(p.right.add)}")
    s.put(50, y + 70, f"{p.word('pd')} {p.number(p.pd, 1, signed=False)}")
    s.put(50, y + 130, f"{p.word('prescriber')}: {p.prescriber}")
    return POWERS | {"add", "pd", "tested_on", "prescriber"}


def letter(p: Invented, s: PaperSheet) -> set[str]:
    """Running text around a small table, with figures in it that mean nothing here."""
    s.put(90, 80, f"{p.prescriber}", bold=True)
    s.put(90, 120, "12 Invented Lane, 4711 Nowhere   Tel. 0123 456 789")
    s.put(760, 200, f"{p.word('tested_on')}: {p.day(p.tested_on)}")
    s.put(90, 260, f"{p.word('patient')}: {p.patient}, {p.word('born_on')} {p.day(p.born_on)}")
    names = ["sphere", "cylinder", "axis", "prism", "base", "add"]
    rows = [["", *map(p.word, names)]]
    for name in ("right", "left"):
        values = cells(p, getattr(p, name))
        rows.append([p.word(name), *(values[n] for n in names)])
    y = s.table(90, 340, [90, 150, 150, 130, 150, 160, 150], 56, rows, False, True)
    s.put(90, y + 60, "2 x 30 ml, 1 x 5 % - No. 12345/26")
    s.put(90, y + 120, "www.invented.example")
    return ALL - {"acuity"} | {"tested_on", "prescriber"}


def spaced_signs(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    names = ["sphere", "cylinder", "axis", "add"]
    rows = [["", *map(p.word, names)]]
    for name in ("right", "left"):
        values = cells(p, getattr(p, name))
        spaced = {n: v.replace("+", "+ ").replace("-", "- ").replace("\u2212", "\u2212 ") for n, v in values.items()}
        rows.append([p.word(name), *(spaced[n] for n in names)])
    y = s.table(90, y, [90, 200, 200, 150, 200], 70, rows, True, True)
    return POWERS | {"add"} | foot(p, s, y + 50, "tested_on", "pd", "vertex", "prescriber")


def halves_of_the_pd(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    half = p.pd / 2
    rows = [["", *map(p.word, ("sphere", "cylinder", "axis", "add", "pd"))]]
    for name, by in (("right", 0.25), ("left", -0.25)):
        values = cells(p, getattr(p, name))
        rows.append([p.word(f"{name}_long"), values["sphere"], values["cylinder"], values["axis"], values["add"],
                     p.number(half + by, 2, signed=False)])  # fmt: skip
    y = s.table(70, y, [250, 160, 160, 140, 160, 150], 62, rows, True, False)
    return POWERS | {"add", "pd"} | foot(p, s, y + 60, "prescriber", "tested_on", "expires_on")


def degrees_of_bases(p: Invented, s: PaperSheet) -> set[str]:
    y = heads(p, s)
    rows = [["", *map(p.word, ("sphere", "cylinder", "axis", "prism", "base"))]]
    for name in ("right", "left"):
        eye: OneEye = getattr(p, name)
        values = cells(p, eye)
        base = f"{DEGREES[name][eye.prism[1]]}°" if eye.prism else ""
        rows.append(
            [
                p.word(name),
                values["sphere"],
                values["cylinder"],
                f"{values['axis']}°" if eye.axis else "",
                values["prism"],
                base,
            ]
        )
    y = s.table(90, y, [90, 170, 170, 150, 170, 160], 60, rows, True, True)
    return POWERS | {"prism"} | foot(p, s, y + 60, "vertex", "pd", "tested_on", "prescriber")


def boxes_of_a_form(p: Invented, s: PaperSheet) -> set[str]:
    """Headings above their values, as in the boxes of a form."""
    s.put(90, 60, p.word("title"), size=s.size + 10, bold=True)
    for x, name, value in (
        (90, "patient", p.patient),
        (480, "born_on", p.day(p.born_on)),
        (860, "tested_on", p.day(p.tested_on)),
    ):
        s.put(x, 150, p.word(name), size=s.size - 6)
        s.put(x, 184, value)
    names = ["sphere", "cylinder", "axis", "add", "acuity"]
    rows = [["", *map(p.word, names)]]
    for name in ("right", "left"):
        values = cells(p, getattr(p, name))
        rows.append([p.word(name), *(values[n] for n in names)])
    y = s.table(90, 290, [100, 190, 190, 160, 190, 190], 90, rows, True, True)
    for x, name, value in ((90, "pd", p.number(p.pd, 1, signed=False)), (300, "vertex", p.number(p.vertex, 0, signed=False)),
                           (560, "prescriber", p.prescriber)):  # fmt: skip
        s.put(x, y + 50, p.word(name), size=s.size - 6)
        s.put(x, y + 84, value)
    return POWERS | {"add", "acuity", "tested_on", "prescriber"}


def far_and_near_rows(p: Invented, s: PaperSheet) -> set[str]:
    """For each distance a block of two eyes, near with its whole power."""
    y = heads(p, s)
    names = ["sphere", "cylinder", "axis"]
    rows = [["", "", *map(p.word, names)]]
    for title, add in (("distance", 0.0), ("near", p.right.add or 0.0)):
        if title == "near" and not add:
            continue
        for name in ("right", "left"):
            eye: OneEye = getattr(p, name)
            values = cells(p, replace(eye, sphere=eye.sphere + add))
            rows.append([p.word(title), p.word(name), *(values[n] for n in names)])
    y = s.table(90, y, [220, 80, 180, 180, 160], 58, rows, True, False)
    return POWERS | {"add"} | foot(p, s, y + 60, "tested_on", "prescriber", "pd", "vertex")


LAYOUTS: tuple[Layout, ...] = (
    ruled_table, open_table, transposed, side_by_side, plain_lines, worded_lines, blocks, brackets, far_and_near_boxes,
    two_prisms, old_and_new, slip, letter, spaced_signs, halves_of_the_pd, degrees_of_bases, boxes_of_a_form, far_and_near_rows,
)  # fmt: skip


def paper(layout: Layout, invented: Invented) -> tuple[PaperSheet, set[str]]:
    sheet = PaperSheet(face=invented.rng.choice(FONTS), size=invented.rng.choice((22, 24, 26, 28)))
    printed = layout(invented, sheet)
    return sheet, printed
