"""A drawing to what a person reads: paper, pictures, schedules."""
