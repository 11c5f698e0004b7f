"""Homework: exercises in as many variants as there are learners, items whose right answers the model works out, and their marking.

It reads answers as people write them, marks them, and keeps the gradebook. It knows analysis, and neither lessons nor screens.
"""
