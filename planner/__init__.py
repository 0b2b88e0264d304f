"""Ebbstock's planner: pure computation on one household or many.

Values in, values out. Nothing here reads a clock, a database, the network or a
random source. `planner.plan.make_plan` is the front door.
"""
