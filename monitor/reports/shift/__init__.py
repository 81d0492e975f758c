"""What a shift hands to the next: the report of its end, cards, and the sheet for when nothing runs."""
