"""The command line, the local server of the workshop, and the check before an evening.

`grammar` is how commands refuse, `commands` their list; `runs` and `whatif` run years, `workshop` and `server` open and close the lessons,
`sheets` writes paper, `learners_folder` lays out notebooks, `waiting` shows progress, `ready_check` looks at the computer.
What a person types is read here, refused in a sentence or handed on; files are written by the packages below.
It knows everything, and nothing knows it.
"""
