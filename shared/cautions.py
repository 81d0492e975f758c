"""What every sheet and every export says of itself, in the project's own words."""

from shared.language.saying import to_say

SECOND_LOOK = to_say("Second look only. The bedside console is the alarm. Go to the bed.")
NO_DEVICE = to_say(
    "Not a medical device. Not for diagnosis or treatment decisions. Simulated or hand-entered values."
)
LOCAL = to_say(
    "Follow local protocol and licensed clinical judgement. Limits and timers here are settings, not advice."
)
NO_EVIDENCE = to_say("Absence of an alert is not evidence of safety.")
DELIVERY = to_say("Delivery is not guaranteed. If unanswered, telephone.")
#: Beside a list of whom to ring.
PAGES = to_say("Pages: delivery is not guaranteed. If unanswered, telephone.")
DRILL = to_say("TEST: a drill with invented beds. No patient. Nobody is paged.")
ON_PAPER = (SECOND_LOOK, NO_DEVICE, LOCAL, NO_EVIDENCE)
#: On files for machines: they are the same wherever they are opened.
ONE_FORM = "Words are English and numbers have a decimal point, whatever the language of the unit."
