"""Work in the background: jobs, their lines, and the answers that the stages show."""
