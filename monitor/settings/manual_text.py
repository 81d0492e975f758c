"""The words of the README that no model says: what each file is for, the marks, the steps to a unit's own beds."""

from collections.abc import Mapping
from types import MappingProxyType

BEGIN = """\
# The configuration

This page is made from the models that read these files. Do not edit it: change the models, or the words in
`monitor/settings`, and write it again with `python -m monitor.settings.manual > config/README.md`.

**Limits and timers here are settings, not advice.** Follow the local protocol. The bedside console is the
alarm; this board is a second look.

| file | what it is for |
|---|---|
| `unit.toml` | the beds, the people, who stands on each rung, where the hub binds; the shipped one is invented |
| `limits.toml` | what is judged: the rules, and what explains what |
| `ladder.toml` | who is called, and when; how long a take holds |
| `patterns.toml` | what patterns look like: the whole knowledge behind a hint; without it there are no hints |
| `equipment.toml` | what equipment there is, how often it is checked; the shipped one is invented |
| `entry.toml` | what is typed on a round, and how typed numbers are looked at; without it no entry form |
| `screen.toml` | the screen of this station: how large its pixels are, how large texts are; without it the usual |
| `cards/*.toml` | the unit's own emergency cards; those shipped are empty places for its text, no guidance |
| `pumps/*.toml` | one pump and its console each. Those shipped are invented; no product is meant. |
| `scenarios/*.toml` | timed courses for the demo and for rehearsals. Nothing real. |
| `drills/*.toml` | courses to practise (`drill`), written as scenarios; nobody plays in them |
| `maps/*.toml` | what the columns of a recording are |
| `examples/*.toml` | further rules as examples, off: nothing reads them; copy one into `limits.toml` to use it |

`./weirkeeper check` reads all of them and tells every fault in one pass: file, line, key, value, what is
wrong and what is allowed. Nothing starts while there is one; a fault in a card hides that card alone.

## Marks

Every limit and every row has a `mark`, which says where its numbers come from:

| mark | meaning |
|---|---|
| `M` | published: a paper, guideline or standard. The source says which; "from memory": not read again |
| `CP` | common practice, no source |
| `TD` | a default chosen here so that tests are deterministic; never a clinical recommendation |
| `unit` | the unit's own number: write this where you change one |

The mark of a rule is that of its limit. Its delay, way back, windows and gates are `TD`. The numbers of the
pumps carry their marks as comments."""

STEPS = """\
## Your own beds, step by step

1. Copy this folder, so that the shipped one stays as it is: `cp -r config my-unit`.
2. In `unit.toml` give the unit its name.
3. Write one `[[bed]]` for each place, in the order in which they stand, with its `label`.
4. Write one `[[bed.run]]` below each bed in use: `support`, `profile`, and the ordered values under
   `targets`. A bed with two pumps has two; the second has `slot = 2`. Leave it out for an empty bed.
5. Name what is fitted beyond the usual under `fitted_also`, what is usual and missing under `not_fitted`.
   What is not fitted is not shown, and rules that need it are off.
6. For a bed without a feed put `entered_by_hand = true`.
7. Write one `[[person]]` for each roster name: a role and a duty, never a person's own name. Give the
   telephone number. Whoever is not in the unit has `in_unit = false`. Secrets do not stand here:
   `./weirkeeper people --config my-unit secret NAME` keeps them in `people.toml`.
8. Under `[roster]` name who stands on each rung. A rung left out is uncovered, and the board says so.
9. Go through `limits.toml` and `ladder.toml` with those who are responsible. Put `mark = "unit"` and a
   `source` where you change a number.
10. To page people write `[pages]` with the unit's mail server, `phone` at the head of the file (the number
   that whoever is paged rings), and `page_to` for each person. A password stands alone in a file of its own:
   `chmod 600`. Try it with a bed of the simulator: such pages begin with `SIMULATED`.
11. Run `./weirkeeper check --config my-unit` until it finds nothing, and read the holes in cover that it
   lists, and under *On this machine* what there is to look at besides: sound, room, keys, the hub.
12. For feeds and desks on other machines make keys (`./weirkeeper keys --config my-unit hub`, then `feed` and
   `station`), and write the hub's own address on the network under `[endpoints]`. Without keys it is refused.
13. Rehearse: `./weirkeeper rehearse my-unit/scenarios/01_slow_bleed.toml --config my-unit`."""

LIMITS_NOTE = """\
Rules stand in order: in the same second circuit-critical first, then by priority, then in this order. A
rule that steps up is two rules. Exactly one of `below`, `at_or_below`, `above`, `outside` is given for a
limit. All rules have the common keys and those of their kind."""

PATTERNS_NOTE = """\
A hint is a possible explanation with its signs for and against. It never changes a priority, calls nobody and
silences nothing. A pattern is named where all of its required signs are present; of several, the one with fewer
signs against comes first, then the one that leaves less of what changed unexplained, then the one with more signs
for, then the order of the table. A sign whose reading is stale or doubtful is none, and a required one leaves its
pattern out. What a sign `is`:

| word | it is there when |
|---|---|
| `up`, `down`, `unchanged` | the median is away from the usual by `moved`, or within `still`; between, as before |
| `sudden`, `gradual` | the change was made within `sudden_s`, or was not |
| `leads` | it left what is usual before the quantity in `before` did |
| `rose` | it rose at once within the last `rose_s`, by no order |
| `unsteady` | its readings swing |
| `stopped`, `reversed` | it is about zero; it is below zero (as its `[[move]]` says) |
| `below`, `above` | it is beyond the value in `than` |
| `lost` | it was measured and is read no more, or only estimated, while others are read |
| `moves`, `frozen` | it goes on changing; the console's readings stand still |
| `alone` | one pressure moved and the others did not |

Usual is the baseline of the last order once it stands, else that of the run, else the first readings of the run."""

EQUIPMENT_NOTE = """\
Ages, charges and intervals are for what the list and the header say. No alert, no call and no advice follows from
them, and nothing comes into service by itself. An item that is taken out of the file stays known."""

CARDS_NOTE = """\
A read-do list that the unit writes, versions and approves itself, shown large on the desk (key E, then its
number) and printed by `weirkeeper cards --pdf FILE`. Nothing in it is generated, and no alert follows from it.
Those shipped hold no guidance: each says that the unit must write its own text. A card is named by its file; its
text is read each time the cards are opened. Ticks on the desk are of one version, and are forgotten two hours
after the last."""

SCREEN_NOTE = """\
What must be 20 mm large for a gloved finger, or is to be read from 3 or 4 m, is reckoned in millimetres, so the
station measures its screen: width of the picture in mm by the pixels across. `./weirkeeper check` says what the
screen says of itself, where that can be believed. `text_percent` enlarges everything, so that no text is cut by it,
as far as a window of 683 x 384 is left: 200 % on 1920 x 1080 and on 1366 x 768. No judge reads it."""

ENTRY_NOTE = """\
Fields stand in the order of the round at the bed. These ranges are for the validation of what was typed, not for
treatment, and no alert follows from them. Beyond a soft range a number must be read again and typed again; the
same number confirms it. Beyond the refused range it cannot be. Nothing is filled in, converted or rounded for a
person."""

KEYS_NOTE = """\
Written by `./weirkeeper keys`; a folder without it has no keys, and its hub stays on its own machine. The secret
keys stand elsewhere, each in a file of its own (`keys/NAME.key_secret`). A hub that runs reads a changed list
within a second; one with a fault changes nothing, and the hub says so."""

TITLES: Mapping[str, str] = MappingProxyType({
    "EmergencyCard": "The file",
    "EquipmentTable": "The file",
    "KeysFile": "The file",
    "FeedKey": "`[[feed]]`: the key of a feed",
    "StationKey": "`[[station]]`: the key of a desk",
    "ScreenTable": "The screen",
    "ItemSettings": "`[[item]]`: a piece of equipment, and where it is at first",
    "UnitFile": "The file",
    "BedEntry": "`[[bed]]`: a bed",
    "RunEntry": "`[[bed.run]]`: a support run at a bed",
    "Person": "`[[person]]`: somebody who can be called",
    "Roster": "`[roster]`: who stands on each rung",
    "Shift": "`[[shift]]`: a shift of every day, and who is planned in it; a post left out is not planned by it",
    "Endpoints": "`[endpoints]`: addresses of the hub",
    "Constants": "`[constants]`: what published sources give differently; the page says what was used",
    "Laboratory": "`[laboratory]`: what is drawn: how often, how long it may be used, what is remarkable",
    "OutsideTarget": "`[outside_target]`: which minutes count as outside target",
    "Drill": "`[drill]`: the beds are invented, and everything that is shown of them says TEST",
    "PageServer": "`[pages]`: the mail server that takes pages",
    "LadderTable": "The file",
    "LadderRow": "`[rows.…]`: one class of alert, seconds after it was raised, while nobody has it",
    "Holds": "`[holds]`: how long a take keeps the ladder still while the condition persists",
    "WorseSteps": "`[worse]`: a further full step beyond the value at the take ends a hold at once",
    "Witnesses": "`[witnesses]`: signals that agree that circulation is lost; two of them call everybody",
    "Timings": "`[timings]`: ages, episodes, notes and baselines, in seconds",
    "Care": "`[care]`: the care marker",
    "Trials": "`[trials]`: ordered trials",
    "OwnLimits": "`[own_limits]`: a bed's own limits",
    "CallMe": "`[call_me]`: call me if",
    "HandingOver": "`[handing_over]`: cover, and how responsibility changes hands",
    "Trips": "`[trips]`: what battery and cylinder should last",
    "Limits": "The file",
    "RuleBase": "`[[rule]]`: what all rules share",
    "Gate": "`[[rule.gates]]`: a further condition of a limit",
    "Consequence": "`[[consequence]]`: which rules explain which",
    "Patterns": "The file",
    "Looking": "`[looking]`: how the signs are looked for; times in seconds",
    "Move": "`[[move]]`: from when on a quantity or feature has changed",
    "Pattern": "`[[pattern]]`: one pattern",
    "Sign": "`[[pattern.sign]]`: one sign of a pattern",
    "EntryTable": "The file",
    "Units": "`[units]`: locked for the whole unit",
    "CrossChecks": "`[checks]`: numbers of one set against each other",
    "AnotherBed": "`[another_bed]`: when a set looks like another bed's",
    "RoundTable": "`[rounds]`: what is looked at besides numbers",
    "RoundTimes": "`[rounds.due]`: when rounds are due; a round that is due calls nobody",
    "RoundItem": "`[[rounds.item]]`: what is looked at by a person",
    "EntryTimes": "`[times]`: when a set was read, and when it was typed",
    "EntryField": "`[[field]]`: one field",
    "OfTopSpeed": "`of_top_speed` of a field: shares of the pump's highest speed",
    "OtherUnit": "`other_unit` of a field: a unit in which it is often read",
    "PumpProfile": "The file",
    "Scenario": "The file",
    "Start": "`[[start]]`: how a bed differs from the base bed",
    "Ramp": "`[[ramp]]`: a quantity moves in a straight line",
    "Fault": "`[[fault]]`: something goes wrong in the simulated circuit (feed circuit)",
    "Entry": "`[[entry]]`: a set entered by hand",
    "Round": "`[[round]]`: a round typed by hand, or a series of them",
    "Mend": "`[[mend]]`: a round that is corrected or struck",
    "ShiftPlan": "`[[shift]]`: a planned shift",
    "Act": "`[[act]]`: what a person does",
    "LinkCut": "`[[link]]`: the feed is cut off",
    "RecordingMap": "The file",
    "TimeColumn": "`[time]`: the column of the time",
    "ValueColumn": "`[[column]]`: one quantity",
})  # fmt: skip
