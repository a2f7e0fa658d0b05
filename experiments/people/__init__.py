"""Question: how much does the usable window of flexion resistance differ between people?"""
