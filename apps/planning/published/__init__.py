"""Readers of instance layouts: text in, `apps.planning.problem.Problem` out."""
