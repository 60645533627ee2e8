"""The page of testers: their readings over time, what is held of their exports, and the climate of the rooms."""
