"""Paper: sheets and reports, drawn with matplotlib, whose only home this is."""
