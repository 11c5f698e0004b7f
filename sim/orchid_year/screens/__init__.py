"""The workshop's screens in a notebook or a browser: a lesson's rounds, month by month, mystery plants, the own window, homework, saved work.

`screen` is what all share, `lesson_screen`, `month_screen`, `mystery_screen`, `own_window_screen` and `homework_screen` are what people
see; `progress` is how far a learner has come in a round, `saved_work` keeps it, `worker` runs years behind the screen.
Widgets and their wiring only: no physics, no rules, no reasons. It knows everything that can be shown.
"""
