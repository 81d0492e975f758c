"""What every sheet and every export says of itself, in the project's own words."""

SECOND_LOOK = "Second look only. The bedside console is the alarm. Go to the bed."
NO_DEVICE = "Not a medical device. Not for diagnosis or treatment decisions. Simulated or hand-entered values."
LOCAL = "Follow local protocol and licensed clinical judgement. Limits and timers here are settings, not advice."
NO_EVIDENCE = "Absence of an alert is not evidence of safety."
DELIVERY = "Delivery is not guaranteed. If unanswered, telephone."
ON_PAPER = (SECOND_LOOK, NO_DEVICE, LOCAL, NO_EVIDENCE)
