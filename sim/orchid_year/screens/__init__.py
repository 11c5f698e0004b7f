"""The workshop's screens in a notebook or a browser: a lesson's rounds, month by month, mystery plants, the own window, homework, saved work.

Widgets and their wiring only: no physics, no rules, no reasons. It knows everything that can be shown.
"""
