from loadsim.verdict import *
from loadsim.verdict import few_of, check
