"""Who may do what, in one table.

A view names the ability it needs (``@requires(Ability.FITTING_EDIT)``); a role is a set of abilities. Nothing else in
the project decides what people may do.
"""

from django.db import models


class Role(models.TextChoices):
    FRONT_DESK = "front_desk", "Front desk"
    DISPENSER = "dispenser", "Dispenser"
    MANAGER = "manager", "Manager"
    LAB = "lab", "Lab (API only)"


class Ability(models.TextChoices):
    PATIENT_VIEW = "patient.view", "see patients and their records"
    PATIENT_EDIT = "patient.edit", "register and correct patients"
    PRESCRIPTION_EDIT = "prescription.edit", "take in and correct prescriptions"
    FRAME_VIEW = "frame.view", "see the frame stock"
    FRAME_EDIT = "frame.edit", "add and correct frames"
    FITTING_EDIT = "fitting.edit", "record and correct fittings"
    ORDER_VIEW = "order.view", "see orders and follow them"
    ORDER_EDIT = "order.edit", "draw up and change draft orders"
    ORDER_SEND = "order.send", "confirm questions, lift stops and send orders"
    ORDER_CANCEL = "order.cancel", "cancel orders"
    FIGURES_VIEW = "figures.view", "see figures of labs and remakes"
    LIST_TAKE_OUT = "list.take_out", "take lists out as files"
    LAB_EDIT = "lab.edit", "set up labs and import catalogues"
    SETTINGS_EDIT = "settings.edit", "change the practice's settings and rules"
    STAFF_EDIT = "staff.edit", "add staff, change roles, issue tokens"
    AUDIT_VIEW = "audit.view", "read the audit trail"
    LAB_API = "lab.api", "read the orders sent to one's own lab"


_DESK = frozenset(
    {
        Ability.PATIENT_VIEW,
        Ability.PATIENT_EDIT,
        Ability.PRESCRIPTION_EDIT,
        Ability.FRAME_VIEW,
        Ability.ORDER_VIEW,
    }
)
_DISPENSER = _DESK | {
    Ability.FRAME_EDIT,
    Ability.FITTING_EDIT,
    Ability.ORDER_EDIT,
    Ability.ORDER_SEND,
    Ability.ORDER_CANCEL,
}
_MANAGER = _DISPENSER | {
    Ability.FIGURES_VIEW,
    Ability.LIST_TAKE_OUT,
    Ability.LAB_EDIT,
    Ability.SETTINGS_EDIT,
    Ability.STAFF_EDIT,
    Ability.AUDIT_VIEW,
}

ABILITIES: dict[str, frozenset[Ability]] = {
    Role.FRONT_DESK: _DESK,
    Role.DISPENSER: _DISPENSER,
    Role.MANAGER: _MANAGER,
    Role.LAB: frozenset({Ability.LAB_API}),
}
