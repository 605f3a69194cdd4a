"""The command line. Its linear algebra has one thread unless the environment says otherwise, and garbage is collected rarely.

The matrices are small: two threads wait for each other longer than they work, the more the busier the machine, and add up sums
in another order.
"""

import os

from femcore.base.process import BLAS_THREADS, collect_garbage_rarely

for _name in BLAS_THREADS:
    os.environ.setdefault(_name, "1")  # read where numpy and scipy are loaded, which follows

collect_garbage_rarely()
