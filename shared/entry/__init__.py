"""Rounds entered by hand: what is asked for, what a typed number means, what must be read again, what is refused.

Pure knowledge and checks, no window, no clock, no file. Nothing is ever filled in for a person: an empty field
stays empty. A question is answered by typing the number again, never by pressing a key.
"""
