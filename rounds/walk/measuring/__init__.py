"""Measuring the farm itself: guided, question by question, each number written down with what it was measured by."""
