"""Where a general-purpose IFC toolkit puts the products of a model: placements.py MODEL

Prints JSON: of each product by GlobalId its placement in the world, the matrix row by row, metres.
"""

import json
import sys

import ifcopenshell
from ifcopenshell.util.placement import get_local_placement
from ifcopenshell.util.unit import calculate_unit_scale

model = ifcopenshell.open(sys.argv[1])
scale = calculate_unit_scale(model)
found = {}
for product in model.by_type("IfcProduct"):
    if product.ObjectPlacement:
        matrix = get_local_placement(product.ObjectPlacement)
        matrix[:3, 3] *= scale
        found[product.GlobalId] = [float(value) for value in matrix.reshape(-1)]
json.dump(found, sys.stdout)
