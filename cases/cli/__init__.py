"""The command line. Its linear algebra has one thread unless the environment says otherwise, and garbage is collected rarely.

The matrices are small: two threads wait for each other longer than they work, the more the busier the machine, and add up sums
in another order. Modules and tables stay as long as the command runs: to look through them at every 700 new objects takes a tenth
of the start.
"""

import gc
import os

from femcore.base.process import BLAS_THREADS

for _name in BLAS_THREADS:
    os.environ.setdefault(_name, "1")  # read where numpy and scipy are loaded, which follows

gc.set_threshold(50_000)
