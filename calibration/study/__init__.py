"""Repeatability and reproducibility."""
