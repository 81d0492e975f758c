"""One bed on the board: first its face in plain words and numbers, then the painters of its parts."""
