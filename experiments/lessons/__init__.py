"""Question: what does the model do in the ready lessons of the lesson page?"""
