"""An independent reader of published pages: takes built HTML, re-evaluates every formula in it.

Nothing here but the sample page of the tests imports the program. ``checker.check_page`` gives the
findings; ``page.mutants`` spoils one digit at a time, to show that a wrong digit can't pass.
"""
