"""Extents and volumes of the products in IFC files, as a reference reads them.

Usage: extents.py MODEL.ifc ANSWERS.jsonl [MODEL.ifc ANSWERS.jsonl ...]

Writes one JSON object a line for every product that has a body:
    {"id": 12, "class": "IfcBeam", "guid": "...", "min": [x, y, z], "max": [x, y, z], "volume": v}
    {"id": 13, "class": "IfcBeam", "guid": "...", "error": "why it has no shape"}
metres, world; the answers of a model get their name when they are complete; "volume" only where every edge of the mesh has as many triangles one way as the other.
Bodies as modelled: openings are not subtracted. A byte order mark is stripped to a temporary copy.
"""

import json
import pathlib
import sys
import tempfile

import ifcopenshell
import ifcopenshell.geom
import numpy

# Without a body of their own by intent, drawn for people only, or (bars of reinforcement) hundreds
# of bends in something that is never cut.
LEFT_OUT = ("IfcReinforcingElement", "IfcAnnotation", "IfcGrid", "IfcPort", "IfcSpatialStructureElement")


def opened(path):
    content = pathlib.Path(path).read_bytes()
    if not content.startswith(b"\xef\xbb\xbf"):
        return ifcopenshell.open(path)
    with tempfile.NamedTemporaryFile(suffix=".ifc") as copy:
        copy.write(content[3:])
        copy.flush()
        return ifcopenshell.open(copy.name)


def products(model):
    found = {element.id(): element for element in model.by_type("IfcProduct")}
    wanted = [
        element
        for element in found.values()
        if element.Representation is not None and not any(element.is_a(name) for name in LEFT_OUT)
    ]
    return sorted(wanted, key=lambda element: element.id())


def volume(corners, triangles):
    """Volume inside the triangles; None if they do not close."""
    # Corners that a fold doubles are one.
    _, same = numpy.unique(numpy.round(corners / 1e-6).astype(numpy.int64), axis=0, return_inverse=True)
    ends = same.reshape(-1)[triangles]
    edges = numpy.concatenate([ends[:, [0, 1]], ends[:, [1, 2]], ends[:, [2, 0]]])
    edges = edges[edges[:, 0] != edges[:, 1]]
    turn = numpy.where(edges[:, 0] < edges[:, 1], 1, -1)
    _, which = numpy.unique(numpy.sort(edges, axis=1), axis=0, return_inverse=True)
    if numpy.bincount(which.reshape(-1), weights=turn).any():
        return None
    a, b, c = (corners[triangles[:, i]] - corners[0] for i in range(3))
    return float(numpy.einsum("ij,ij->i", a, numpy.cross(b, c)).sum() / 6.0)


def main(path, answers):
    model = opened(path)
    settings = ifcopenshell.geom.settings()
    settings.set("use-world-coords", True)
    settings.set("disable-opening-subtractions", True)
    # Fine enough for the volume of a thin pipe: 63 chords round it take 0.2 % of it away.
    settings.set("mesher-linear-deflection", 0.0002)
    settings.set("mesher-angular-deflection", 0.1)
    partial = pathlib.Path(answers).with_suffix(".part")
    with partial.open("w", encoding="utf-8") as out:
        for element in products(model):
            row = {"id": element.id(), "class": element.is_a(), "guid": element.GlobalId}
            try:
                shape = ifcopenshell.geom.create_shape(settings, element).geometry
                corners = numpy.array(shape.verts).reshape(-1, 3)
                if len(corners) == 0:
                    raise RuntimeError("no vertices")
                row["min"] = corners.min(axis=0).tolist()
                row["max"] = corners.max(axis=0).tolist()
                triangles = numpy.array(shape.faces).reshape(-1, 3)
                if len(triangles) and (inside := volume(corners, triangles)) is not None:
                    row["volume"] = inside
            except RuntimeError as trouble:
                row["error"] = str(trouble).strip().splitlines()[0][:200]
            print(json.dumps(row), file=out, flush=True)
    partial.rename(answers)


if __name__ == "__main__":
    for at in range(1, len(sys.argv), 2):
        try:
            main(sys.argv[at], sys.argv[at + 1])
        except Exception as trouble:  # not a model: nothing to compare
            pathlib.Path(sys.argv[at + 1]).write_text(f"end: {trouble}\n", encoding="utf-8")
