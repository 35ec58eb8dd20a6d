"""The writers: sheets to bytes in each format, and a set of files to the disk."""
