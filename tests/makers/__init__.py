"""Simulated makers: see makers.yaml and play.py."""
