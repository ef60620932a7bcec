"""What is compared, with what, and how sure: the plan file, its faults and its assumptions."""
