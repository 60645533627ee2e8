"""The notebook for exploring a laboratory's snapshot; it needs the extra ``notebook``."""
