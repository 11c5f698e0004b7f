"""The command line, the local server of the workshop, and the check before an evening.

`grammar` is how a line is read, `commands` their list and where a refusal is printed; `runs` runs years and lists presets, `whatif`
compares, `workshop` and `server` open and close the lessons,
`sheets` writes paper, `learners_folder` lays out notebooks, `waiting` shows progress, `ready_check` looks at the computer.
What a person types is read here, refused in a sentence or handed on; files are written by the packages below.
It knows everything, and nothing knows it.
"""
