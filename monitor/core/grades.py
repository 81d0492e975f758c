"""Priorities, classes and rungs: the words that rules, alerts and ladder share."""

from enum import IntEnum

from shared.word import Word


class Priority(Word):
    """The three grades of IEC 60601-1-8 (meaning from memory; the standard's text was not readable)."""

    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"


#: Order of need, the greatest first.
RANK = {Priority.HIGH: 0, Priority.MEDIUM: 1, Priority.LOW: 2}


class AlertClass(Word):
    """About the patient or circuit, or about the equipment or link (IEC 60601-1-8)."""

    PHYSIOLOGICAL = "physiological"
    TECHNICAL = "technical"


class Rung(IntEnum):
    """Who is called, in order."""

    BEDSIDE = 1
    CHARGE = 2
    PERFUSIONIST = 3
    INTENSIVIST = 4
    SURGEON = 5


RUNG_LABEL = {
    Rung.BEDSIDE: "Bedside nurse",
    Rung.CHARGE: "Charge nurse",
    Rung.PERFUSIONIST: "Perfusionist",
    Rung.INTENSIVIST: "Intensivist",
    Rung.SURGEON: "Surgeon",
}


class TrialKind(Word):
    """What is tried under an order."""

    TURN_DOWN = "turn_down"
    RETROGRADE = "retrograde"
    SWEEP_OFF = "sweep_off"
    CLAMP = "clamp"


class Role(Word):
    """What a person may do. Each rung is filled by the role of the same name."""

    BEDSIDE_NURSE = "bedside_nurse"
    CHARGE_NURSE = "charge_nurse"
    PERFUSIONIST = "perfusionist"
    INTENSIVIST = "intensivist"
    SURGEON = "surgeon"
    VIEWER = "viewer"
    ADMINISTRATOR = "administrator"


#: Roles that look on: they answer nothing.
WATCHERS = frozenset({Role.VIEWER, Role.ADMINISTRATOR})


class LadderClass(Word):
    """Rows of the ladder's table."""

    CIRCUIT_TWO = "circuit_two_witnesses"
    CIRCUIT_ONE = "circuit_one_witness"
    PATIENT_SIDE = "high_patient_side"
    HIGH_OTHER = "high_other"
    MEDIUM = "medium"
    CONSOLE = "technical_console"
    FEED = "technical_feed"
    BOARD_BLIND = "board_blind"
    COVER = "cover"
