"""Opens a model with the Python toolkit and prints how long opening took: open_python.py FILE"""

import json
import sys
import time

import ifcopenshell

start = time.perf_counter()
model = ifcopenshell.open(sys.argv[1])
seconds = time.perf_counter() - start
instances = sum(1 for _ in model)
print(json.dumps({"open_s": seconds, "instances": instances}))
