"""Pages and feeds, one module per group; each has its `router`."""
