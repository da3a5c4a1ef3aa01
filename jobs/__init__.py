"""What happens later: rows of later work, their runner and their schedule."""
