"""Takes a scenario with its solution; gives the worked solution as data.

Steps, equations as trees, slips, questions and safety notes. Knows nothing of Markdown, HTML or
where a page stands.
"""
