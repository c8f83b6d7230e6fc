"""Written files read back, held against job and items: findings."""
