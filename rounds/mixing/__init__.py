"""Mix sheets: working acid and base, concentrates, a top-up tank for days away, a change-out, numbered bottles."""
