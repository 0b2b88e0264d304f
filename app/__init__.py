"""The web application and the command line around the planner."""
