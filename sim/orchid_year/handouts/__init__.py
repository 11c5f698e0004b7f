"""Paper and pages to take home: comparison pages, homework sheets, result cards, the care calendar, a whole evening on paper, the class report.

`paper` is the sheet itself, and each other module one thing to hand out. Each is written whole or not at all. It knows lessons, homework and plots; nothing that is handed out asks for a computer.
"""
