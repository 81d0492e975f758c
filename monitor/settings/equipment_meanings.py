"""What each key of ``equipment.toml`` and of a file in ``cards/`` means."""

from collections.abc import Mapping

EQUIPMENT_MEANINGS: Mapping[str, Mapping[str, str]] = {
    "EmergencyCard": {
        "number": "its key on the desk, after E; each card has its own",
        "title": "what it is for",
        "version": "raised with each change of its text; ticks belong to one version",
        "written": "the day of this version",
        "approved_by": "who approved this version; empty: nobody yet, and desk and paper say so",
        "steps": "the unit's own text, one act a step, in the order in which they are read out and done",
    },
    "EquipmentTable": {
        "item": "the equipment at first; afterwards people say where it is",
        "spares": "kinds of which the header counts the spares that are ready",
        "wanted": "spares of a kind that are ready at least; with fewer the header marks it",
        "check_every_h": "hours from one check to the next; a kind left out is never due",
        "charged_from": "charge from which a spare is ready, %; a kind left out has no charge",
        "age_notice_h": "age from which a notice stands, of a circuit since it was primed; nothing follows from it",
        "mark": "where the numbers come from",
    },
    "ItemSettings": {
        "id": "what is written on it",
        "kind": "what it is",
        "supports": "support types that it fits; left out: all",
        "profile": "the pump that it fits, by the name in its file in pumps/; left out: all",
        "bed": "the bed at which it is at first",
        "slot": "the run of that bed that it serves; left out: it is beside the bed",
        "place": "where it is at first, if not at a bed",
        "primed_at": "when a circuit was primed; left out: dry",
        "checked_at": "its last check as on paper, before it was known here; left out: never checked",
        "checked_by": "who did that check",
        "charge": "charge at that check, %; left out: not known",
        "hours": "hours that it had run before it was known here; left out: not known",
        "quarantine": "what is wrong with it, where it must not be used at first; left out: in service",
    },
}
