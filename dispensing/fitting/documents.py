"""``fitting-points/1`` (marks on a front and a side photo) and ``fitting/1`` (what they measure).

It knows the shape of the two documents and nothing of geometry. A value out of range still parses here; it is judged
when the document is measured. Pixels are counted from the top-left corner, x to the right, y down; eyes are the
wearer's own.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from dispensing.documents import DocumentPart, parse, read

POINTS_FORMAT = "fitting-points/1"
FITTING_FORMAT = "fitting/1"

Pixel = tuple[float, float]
Eye = Literal["right", "left"]
EYES: tuple[Eye, Eye] = ("right", "left")


class EyeMarks(DocumentPart):
    """The pupil and the four sides of the box around one lens shape."""

    pupil: Pixel | None = None
    nasal: Pixel | None = None
    temporal: Pixel | None = None
    top: Pixel | None = None
    bottom: Pixel | None = None


class Scale(DocumentPart):
    """A known length. ``frame``: A and DBL; ``card``: an ID-1 card; ``length``: any length between two ends.

    ``length_sd_mm``: how reliably this length is known, one standard deviation; null takes the usual spread. ``b_mm``:
    B of the frame, where known: all eight sides of the boxes then fit the one known frame.
    """

    by: Literal["frame", "card", "length"]
    a_mm: float | None = None
    dbl_mm: float | None = None
    b_mm: float | None = None
    length_mm: float | None = None
    ends: tuple[Pixel, Pixel] | None = None
    in_front_of_lens_plane_mm: float | None = None
    length_sd_mm: float | None = None


class FrontPhoto(DocumentPart):
    """``face_form_deg``: how far each lens is bent back; null takes the front as flat.

    ``camera_pitch_deg``: the camera's axis against the horizon, + up, with its standard deviation; null takes it as
    level. ``gaze_up_mm``, ``gaze_in_mm``: how far above the lens of the camera, and to the patient's right of it, the
    patient looked. ``sides``: whether the sides are marked at the visible rim, ``groove_mm`` before the lens's own
    edge, or at that edge. ``extra.made`` may say how each mark was set (see ``marks_made``), and ``extra.one_frame``
    that the marks are to fit two equal lenses though B is not known.
    """

    width_px: float | None = None
    height_px: float | None = None
    focal_px: float | None = None
    camera_distance_mm: float | None = None
    camera_pitch_deg: float | None = None
    camera_pitch_sd_deg: float | None = None
    gaze: Literal["camera", "far"] | None = None
    gaze_up_mm: float | None = None
    gaze_in_mm: float | None = None
    sides: Literal["rim", "lens"] | None = None
    groove_mm: float | None = None
    face_form_deg: float | None = None
    scale: Scale | None = None
    right: EyeMarks | None = None
    left: EyeMarks | None = None
    mark_sd_px: float | None = None

    def eye(self, eye: Eye) -> EyeMarks:
        """The marks of one eye; an eye without marks counts as one with every mark missing."""
        marks = self.right if eye == "right" else self.left
        return EyeMarks() if marks is None else marks


class SidePhoto(DocumentPart):
    """The wearer faces from the cornea to the rim; ``level`` is any line known to be level."""

    width_px: float | None = None
    height_px: float | None = None
    rim_top: Pixel | None = None
    rim_bottom: Pixel | None = None
    cornea: Pixel | None = None
    level: tuple[Pixel, Pixel] | None = None
    scale: Scale | None = None
    mark_sd_px: float | None = None


class Spreads(DocumentPart):
    """Assumed errors that no mark shows, each as one standard deviation; null takes the usual one."""

    mark_sd_px: float | None = None
    head_turn_deg: float | None = None
    chin_deg: float | None = None
    camera_up_mm: float | None = None
    camera_sideways_mm: float | None = None
    scale_length_mm: float | None = None
    focal_percent: float | None = None
    camera_distance_mm: float | None = None
    centre_of_rotation_mm: float | None = None
    face_form_deg: float | None = None
    in_front_of_lens_plane_mm: float | None = None
    lens_in_rim_mm: float | None = None


class FittingPoints(DocumentPart):
    """``extra.age_years`` may state the wearer's age, in whole years, by which a PD is judged.

    ``posture``: photos with the same word share how the head was held; others are independent. ``sheet``: the fitting
    that the file belongs to.
    """

    format: Literal["fitting-points/1"]
    front: FrontPhoto | None = None
    side: SidePhoto | None = None
    spreads: Spreads | None = None
    near_distance_mm: float | None = None
    posture: str | None = None
    sheet: str | None = None

    @property
    def age_years(self) -> int | None:
        """The wearer's age in whole years, if whoever wrote the document stated it under ``extra``."""
        stated = (self.extra or {}).get("age_years")
        return stated if isinstance(stated, int) and not isinstance(stated, bool) and stated >= 0 else None


class Figure(DocumentPart):
    """A measured value and its ± at 95 % (1.96 standard deviations), in the unit that the key names."""

    value: float
    plus_minus: float


class EyeFitting(DocumentPart):
    """Figures of one eye. ``a_mm`` and ``b_mm`` are the box as seen on the upright lens plane, in which heights are
    measured too; ``b_along_lens_mm`` (only with a side photo) is the depth along the tilted lens, as engraved, and
    ``height_in_plane_mm`` the height along it, as labs measure it.
    """

    pd_mm: Figure | None = None
    near_pd_mm: Figure | None = None
    height_mm: Figure | None = None
    height_in_plane_mm: Figure | None = None
    a_mm: Figure | None = None
    b_mm: Figure | None = None
    vertex_mm: Figure | None = None
    b_along_lens_mm: Figure | None = None


class Unlikely(DocumentPart):
    """A figure outside the usual band, and the mark whose error alone would explain it best.

    ``message``: what is unlikely and what to do about it, as one text; ``says`` and ``advice``: the two separately.
    """

    figure: str
    eye: Eye | None = None
    found: float
    usual: tuple[float, float]
    look_at: str | None = None
    error_px: float | None = None
    message: str
    says: str = ""
    advice: str = ""


class Fitting(DocumentPart):
    """``fitting/1``. Everything after ``retake`` is optional: it explains the figures and may be left out.

    ``sheet`` and ``files`` take the place of ``file`` where several files were combined. ``extra`` names what of
    ``retake`` is only to be marked (``to_mark``) or checked (``to_check``), and besides a turned eye
    (``turned_eye``) and what is worth knowing (``notes``).
    """

    format: Literal["fitting/1"] = "fitting/1"
    file: str | None = None
    sheet: str | None = None
    files: tuple[str, ...] | None = None
    right: EyeFitting = Field(default_factory=EyeFitting)
    left: EyeFitting = Field(default_factory=EyeFitting)
    dbl_mm: Figure | None = None
    pantoscopic_deg: Figure | None = None
    camera_distance_mm: Figure | None = None
    head_turn_deg: Figure | None = None
    retake: tuple[str, ...] = ()
    binocular_pd_mm: Figure | None = None
    roll_deg: Figure | None = None
    camera_above_eyes_mm: Figure | None = None
    camera_sideways_mm: Figure | None = None
    unlikely: tuple[Unlikely, ...] = ()
    shares: dict[str, dict[str, float]] = Field(default_factory=dict)

    def eye(self, eye: Eye) -> EyeFitting:
        """The figures of one eye."""
        return self.right if eye == "right" else self.left

    def told(self, kind: Literal["to_mark", "to_check", "turned_eye", "notes"]) -> tuple[str, ...]:
        """What ``extra`` says of one kind, in words."""
        return tuple((self.extra or {}).get(kind, ()))

    @property
    def take_again(self) -> tuple[str, ...]:
        """The reasons that no mark and no typed figure repairs."""
        repaired = {*self.told("to_mark"), *self.told("to_check")}
        return tuple(reason for reason in self.retake if reason not in repaired)


def parse_points(text: str | bytes) -> FittingPoints:
    """Read a ``fitting-points/1``; raises :class:`dispensing.documents.InvalidDocument` with every fault."""
    return parse(FittingPoints, text, format_name=POINTS_FORMAT)


def read_points(path: str) -> FittingPoints:
    """Read the file at ``path``; raises :class:`dispensing.documents.InvalidDocument`."""
    return read(FittingPoints, path, format_name=POINTS_FORMAT)
