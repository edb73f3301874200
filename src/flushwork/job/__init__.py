"""From the text of a job file to frozen records that know their line."""
