"""Homework: exercises in as many variants as there are learners, items whose right answers the model works out, and their marking.

`exercises` are the files and their variants, `answer_key` what is right and what comes of every choice, `answers` what people write,
`receipts` the same as a code, `marking` the points and words, `gradebook` the class. It knows analysis, and neither lessons nor screens.
"""
