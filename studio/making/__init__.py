"""Work on soft clay: the board, studio habits, what the trade says of a piece by its stage.

No judgement.
"""
