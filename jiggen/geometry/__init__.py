"""The wedge, its holes and its guides as numbers: mm and radians, no paper and no files."""
