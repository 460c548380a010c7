"""Laying out a channel before it is drilled: fall, packers, sites, holes, flow. Knows no toolkit."""
