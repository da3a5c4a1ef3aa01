"""PostgreSQL, told with every statement how far the work at hand sees."""
