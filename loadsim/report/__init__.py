"""The report: the answer as one page, with its charts and drawings."""
