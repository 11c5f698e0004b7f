"""Lessons as data: rounds with a prediction, the controls that may be moved, month by month, and mystery plants with one hidden cause.

`lesson` is a lesson and its rounds, `controls` what may be moved, `result` what a round shows; `month_by_month` and `mystery`, with its
`signs`, are lessons of their own kind; `share_code` is a round's settings, short enough to read aloud. It says what a round holds and what its result is, for a screen or for paper; it knows analysis and plots, and no widget.
"""
