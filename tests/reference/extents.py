"""Extents of members and services in one IFC file, as a reference reads them.

Usage: extents.py MODEL.ifc

Prints one JSON object a line for every element of the classes below that has a representation:
    {"id": 12, "class": "IfcBeam", "guid": "...", "min": [x, y, z], "max": [x, y, z]}     metres, world
    {"id": 13, "class": "IfcBeam", "guid": "...", "error": "why it has no shape"}
Bodies as modelled: openings are not subtracted. A byte order mark is stripped to a temporary copy.
"""

import json
import pathlib
import sys
import tempfile

import ifcopenshell
import ifcopenshell.geom
import numpy

CLASSES = (
    "IfcBeam",
    "IfcMember",
    "IfcColumn",
    "IfcPlate",
    "IfcBuildingElementPart",
    "IfcBuildingElementProxy",
    "IfcDistributionElement",
)


def opened(path):
    content = pathlib.Path(path).read_bytes()
    if not content.startswith(b"\xef\xbb\xbf"):
        return ifcopenshell.open(path)
    with tempfile.NamedTemporaryFile(suffix=".ifc") as copy:
        copy.write(content[3:])
        copy.flush()
        return ifcopenshell.open(copy.name)


def elements(model):
    found = {}
    for name in CLASSES:
        try:
            for element in model.by_type(name):
                found[element.id()] = element
        except RuntimeError:
            continue  # the schema does not know the class
    return [found[number] for number in sorted(found)]


def main(path):
    model = opened(path)
    settings = ifcopenshell.geom.settings()
    settings.set("use-world-coords", True)
    settings.set("disable-opening-subtractions", True)
    for element in elements(model):
        if element.Representation is None:
            continue
        row = {"id": element.id(), "class": element.is_a(), "guid": element.GlobalId}
        try:
            shape = ifcopenshell.geom.create_shape(settings, element)
            corners = numpy.array(shape.geometry.verts).reshape(-1, 3)
            if len(corners) == 0:
                raise RuntimeError("no vertices")
            row["min"] = corners.min(axis=0).tolist()
            row["max"] = corners.max(axis=0).tolist()
        except RuntimeError as trouble:
            row["error"] = str(trouble).strip().splitlines()[0][:200]
        print(json.dumps(row), flush=True)


if __name__ == "__main__":
    main(sys.argv[1])
