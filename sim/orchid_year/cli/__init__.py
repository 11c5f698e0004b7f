"""The command line, the local server of the workshop, and the check before an evening.

What a person types is read here, refused in a sentence or handed on; files are written by the packages below.
It knows everything, and nothing knows it.
"""
