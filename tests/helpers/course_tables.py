"""The courses of the design as tables: which alerts come, in which order, and at which ideal raw time."""

#: What moves towards a limit: a step under the running median, a raw reading, a ramp, the oxygenator's resistance.
STEP, RAW, RAMP, OXY = "step", "raw", "ramp", "oxygenator"

Expected = list[tuple[str, str, str, str]]

BLEED: Expected = [
    ("26:17", "raised", "inlet_low", RAMP),
    ("27:54", "raised", "inlet_warn", RAMP),
    ("31:30", "folded", "flow_low", RAMP),
    ("41:22", "promoted", "inlet_very_low", RAMP),
    ("42:53", "folded", "map_low", RAMP),
    ("44:30", "folded", "flow_very_low", RAMP),
]
CLOT: Expected = [("53:36", "raised", "resistance_up", OXY), ("75:07", "raised", "resistance_far_up", OXY)]
STOPPED: Expected = [
    ("10:02", "raised", "pump_stopped", RAW),
    ("10:12", "folded", "flow_none", RAW),
    ("10:11", "folded", "flow_very_low", STEP),
    ("10:11", "folded", "flow_floor", STEP),
    ("10:31", "folded", "flow_low", STEP),
]
ARTERIAL: Expected = [("11:19", "folded", "map_very_low", RAMP), ("11:27", "folded", "map_low", RAMP)]
READING_LOST: Expected = [
    ("3:10", "raised", "flow_none", RAW),
    ("3:10", "folded", "flow_very_low", STEP),
    ("3:10", "folded", "flow_floor", STEP),
    ("3:30", "folded", "flow_low", STEP),
]
KINK: Expected = [
    ("1:11", "raised", "flow_very_low", STEP),
    ("1:11", "folded", "flow_floor", STEP),
    ("1:16", "folded", "return_rise", STEP),
]
SATURATIONS: Expected = [
    ("12:25", "raised", "spo2_low", RAMP),
    ("13:11", "promoted", "spo2_very_low", RAMP),
    ("24:51", "raised", "spo2_low", RAMP),
]

COURSES: dict[str, Expected] = {
    "01_slow_bleed": BLEED,
    "01a_slow_bleed_taken": BLEED,
    "02_cough_and_turning": [],
    "03_oxygenator_resistance": CLOT,
    "03a_advised": CLOT,
    "04_pump_stops": STOPPED + ARTERIAL,
    "04a_untaken": STOPPED + ARTERIAL,
    "04b_link_down": [*STOPPED, ("12:45", "raised", "no_feed", RAW)],
    "04c_seen_afterwards": STOPPED + ARTERIAL,
    "05_flow_reading_lost": READING_LOST,
    "05a_checked": READING_LOST,
    "05b_renewed": READING_LOST,
    "06_return_kink": KINK,
    "06a_seen_afterwards": KINK,
    "07_zeroing": [],
    "07a_one_pressure": [("3:10", "raised", "one_pressure", STEP)],
    "10_two_falling_saturations": SATURATIONS,
    "10a_nurse_holds_b6": SATURATIONS,
    "11_transport_tired_battery": [
        ("0:05", "raised", "on_battery", RAW),
        ("20:00", "raised", "battery_short", RAW),
        ("40:00", "promoted", "battery_critical", RAW),
        ("54:00", "raised", "return_check_due", RAW),
    ],
    "12_turn_down_trial": [],
    "12a_low_pressure": [("31:00", "raised", "map_low", STEP)],
    "12b_not_ended": [
        ("60:10", "raised", "flow_very_low", STEP),
        ("60:10", "folded", "flow_floor", STEP),
        ("60:30", "folded", "flow_low", STEP),
    ],
    "12c_two_dwells": [],
    "15_all_feeds_lost": [("4:00", "board_blind", "board_blind", RAW)],
    "19_help_by_hand": [("1:00", "raised", "help", RAW)],
    "19a_seen": [("1:00", "raised", "help", RAW)],
    "20_return_line_open": [
        ("2:08", "raised", "return_open", RAW),
        ("2:34", "folded", "inlet_low", RAMP),
        ("3:33", "folded", "map_low", RAMP),
    ],
    "21_la_ao_no_oxygenator": [("27:54", "raised", "pulse_pressure_low", RAMP)],
    "22_vv_at_84": [],
    "23_retrograde_trial": [
        ("240:10", "raised", "flow_none", RAW),
        ("240:10", "folded", "flow_very_low", STEP),
        ("240:10", "folded", "flow_floor", STEP),
        ("240:30", "folded", "flow_low", STEP),
    ],
    "26_plug_pulled": [("1:05", "raised", "on_battery", RAW), ("6:00", "raised", "on_battery_long", RAW)],
    "27_frozen_console": [("7:00", "raised", "frozen", STEP)],
    "28_feed_dies_open_high": [
        ("1:10", "raised", "flow_very_low", STEP),
        ("1:15", "folded", "return_rise", STEP),
        ("1:30", "folded", "flow_low", STEP),
        ("3:45", "raised", "no_feed", RAW),
    ],
}
