"""Many generated things with their history, for benches: the one way past the actions.

A few things are made through the actions, their rows are read, and the making is undone (`moulds`). What was read is
stamped as often as wanted, with new keys, numbers, words, places and days, the history's hashes computed anew, and
goes into the database by COPY (`press`). So every row is one that an action would have written, and what is derived
equals what the facts say.
"""
