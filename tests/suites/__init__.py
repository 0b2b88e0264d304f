"""Programs that some suites need."""
