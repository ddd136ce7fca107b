"""Whether a batch was graded fairly: second looks, drift, the measuring, a grade's evidence.

Marks themselves are written in ``judging``; the statistics are in ``stats``.
"""
