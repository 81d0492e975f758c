"""Pages: their text, their characters, and what becomes of one."""
