"""The rules, each a question to one build."""
