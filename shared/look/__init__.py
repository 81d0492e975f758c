"""How the screens look, in numbers only: colours, marks, type sizes and tile geometry.

Nothing here draws, opens a file or knows a toolkit. The desk turns these numbers into pictures; the tests
prove them against the published formulas of contrast and colour difference.
"""
