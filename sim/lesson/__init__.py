"""The lesson: walks computed beforehand, packed into one page on which two of them walk side by side.

`plan` says which walks and which comparisons, `frames` which moments of a walk, `packing` how they become bytes, `rows`
does one walk, `texts` reads the words of the page, `page` puts everything into one file.
"""
