"""The page of testers: their readings over time, what is on hold of their exports, and the climate of the rooms."""
