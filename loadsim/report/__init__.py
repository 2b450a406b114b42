"""The report for the job traveler: a plan to one HTML file, and back."""
