"""heatproof: does anything get too hot, in the hardest use the kit is sold for, and how sure are we?"""

from heatproof._compiled_cache import use_user_cache

use_user_cache()

__version__ = "0.1.0"
