"""The servers behind the workshop: the lessons as notebooks for one person, and as pages without code for a club.

What they may be asked, by whom, and how much of the computer they take is decided here; the libraries that serve are told so.
Each runs as a process of its own, which `cli` starts; only `learners`, `command` and `doors` are used from outside that process.
"""
