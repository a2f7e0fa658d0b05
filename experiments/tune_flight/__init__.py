"""Question: which one set of gains takes a person down a flight of stairs step over step, whatever the knee?"""
