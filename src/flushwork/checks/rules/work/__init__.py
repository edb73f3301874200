"""Rules about resin, hands, days and what is on hand."""
