"""Where compiled kernels are kept between runs.

The compiler's own cache looks only at the file of the cached function: edit a callee in another file
and the caller keeps the old callee silently. So the cache lives in a folder named by a hash of all that can
change a kernel (`_program_hash`); and in the user's cache folder, so that a read-only installation works.
"""

import atexit
import os
import shutil
import sys
import tempfile
from pathlib import Path

from heatproof._program_hash import kernel_hash


def cache_home() -> Path:
    """Folder for rebuildable files of this user; HEATPROOF_CACHE overrides it."""
    if own := os.environ.get("HEATPROOF_CACHE"):
        return Path(own)
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    return (Path(base) if base else Path.home() / ".cache") / "heatproof"


def kernels_folder() -> Path:
    """Where this program's kernels are kept; where nothing can be kept, a folder that goes when the program ends."""
    folder = cache_home() / "kernels" / kernel_hash()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if os.access(folder, os.R_OK | os.W_OK | os.X_OK):
            return folder
    except OSError:
        pass
    passing = Path(tempfile.mkdtemp(prefix="heatproof-kernels-"))
    atexit.register(shutil.rmtree, passing, ignore_errors=True)
    return passing


def use_user_cache() -> None:
    """Point the compiler's cache at the user's folder; must run before numba is imported."""
    os.environ.setdefault("NUMBA_CACHE_DIR", str(kernels_folder()))
    if "numba" in sys.modules:  # imported before us: it has read the variable already
        sys.modules["numba"].config.CACHE_DIR = os.environ["NUMBA_CACHE_DIR"]
    # Small dense blocks only: several BLAS threads cost more than they give.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
