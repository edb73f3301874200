"""Changes of the job that take a finding away, each tried on the check itself."""
