"""Project schedules without hours: compiled list search, and proof by constraint programming.

`solver.solve_lists` is the only way in. `question` turns the planner's vocabulary into numbers,
`windows` bounds every start, `kernels` (compiled) makes and breeds schedules, `breeding` runs
them, `proof` is the constraint model.
"""
