"""Re-reads a drawing that is on disk and measures it, by code that no writer shares."""
