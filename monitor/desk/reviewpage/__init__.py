"""What a review opens on (key J): what nobody has, what is new to whoever sits there, what is overdue or due."""
