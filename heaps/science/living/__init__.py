"""The living heap: what breakdown, heat, drying and settling make of what was tipped, with honest ranges. PURE."""
