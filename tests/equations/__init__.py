"""An independent reader of published pages: takes built HTML, re-evaluates every formula in it.

Nothing here imports the program. ``checker.check_page`` gives the findings; ``mutants`` spoils one
digit at a time, to show that a wrong digit can't pass.
"""
