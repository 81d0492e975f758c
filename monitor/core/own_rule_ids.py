"""Ids of the rules that are the program's own, for who needs no more of them."""

CALL_ME_ID = "call_me_if"
LATE_READING_ID = "late_reading"
