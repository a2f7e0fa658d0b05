"""Question: what do shorter steps save a rigid-legged walker that goes downhill, and where does the rest go?"""
