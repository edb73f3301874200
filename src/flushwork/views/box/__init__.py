"""The box of a job: its chapter, its drawings, its true-size corner."""
