"""Question: where is the usable window of flexion resistance of the default person on five slopes?"""
