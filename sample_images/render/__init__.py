"""Renders photos of invented tail boards beside the card, each with its exact truth.

Nothing here is used by the program: Blender's `bpy` is needed to run it, see README.md.
"""
