"""Many rivers at once, block by block, here or on a cluster of dask.distributed.

``plan.py`` says what there is to do, ``block.py`` does one piece of it and writes it,
``serial.py`` does them one after the other and ``cluster.py`` side by side; both give
the same bytes. Blocks are named by a hash of all they are made from, so that one that
lies there already need not be made again.
"""
