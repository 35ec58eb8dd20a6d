"""Every sentence and table for people, and the JSON for programs, from the same records."""
