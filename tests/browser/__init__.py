"""What a person meets, in a real browser: Debian's Chromium against the program as it is served.

Each module has a museum of its own, made once; its tests share it. A test fails of itself when the page throws, breaks
its own content policy, asks another host for anything, or misses a file.
"""
