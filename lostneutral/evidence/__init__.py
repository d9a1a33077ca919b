"""Working back from what was seen: where it broke, and what the unknown loads were."""
