"""Values and arithmetic of home care: pure, with no files, no web, no clock and no chance."""
