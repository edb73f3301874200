"""What a person does with a job: the commands, the bench and other programs all call these."""
