"""Changes of the job that take a finding away: thought of here, then tried on the proof itself."""
