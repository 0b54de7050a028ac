"""What is said of earlier texts of a job, and of two plans side by side."""
