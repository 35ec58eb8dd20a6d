"""The job file: what the user wrote, read into frozen records in mm and radians."""
