"""What a general-purpose IFC toolkit sees of files that were added to: look.py BEFORE AFTER [BEFORE AFTER …]

Prints a JSON list, one object a pair: volumes of the elements that got openings, without and with them; the openings
with their hosts; the provisions with their extents; what does not follow the schema among the
instances that were added. BEFORE may be `-`: then everything was added.
"""

import json
import sys

import ifcopenshell
import ifcopenshell.geom
import numpy
from ifcopenshell.util.element import get_psets

settings = ifcopenshell.geom.settings()
settings.set("use-world-coords", True)
# Circles right to a fifth of a percent.
settings.set("mesher-linear-deflection", 0.00005)
settings.set("mesher-angular-deflection", 0.1)
whole = ifcopenshell.geom.settings()
whole.set("disable-opening-subtractions", True)


def triangles(product, how):
    shape = ifcopenshell.geom.create_shape(how, product).geometry
    points = numpy.array(shape.verts).reshape(-1, 3)
    return points, points[numpy.array(shape.faces).reshape(-1, 3)]


def volume(product, how):
    points, faces = triangles(product, how)
    faces = faces - points.mean(axis=0)
    return float(numpy.einsum("ij,ij->", faces[:, 0], numpy.cross(faces[:, 1], faces[:, 2])) / 6)


def faults(schema, instance):
    """Attributes that do not hold what the schema declares."""
    declared = schema.declaration_by_name(instance.is_a()).as_entity()
    derived = declared.derived()
    for place, attribute in enumerate(declared.all_attributes()):
        value = instance[place]
        name = f"#{instance.id()} {instance.is_a()}.{attribute.name()}"
        if value is None:
            if not attribute.optional() and not derived[place]:
                yield f"{name} is missing"
            continue
        kind = attribute.type_of_attribute()
        if kind.as_aggregation_type():
            if not isinstance(value, tuple) or not value:
                yield f"{name} is no list, or an empty one"
            continue
        named = kind.as_named_type()
        entity = named and named.declared_type().as_entity()
        if entity and not (hasattr(value, "is_a") and value.is_a(entity.name())):
            yield f"{name} holds {value}"


def provision(product):
    points, _ = triangles(product, settings)
    sets = get_psets(product)
    return {
        "class": product.is_a(),
        "storey": product.ContainedInStructure[0].RelatingStructure.Name,
        "volume_m3": volume(product, settings),
        "min_m": points.min(axis=0).tolist(),
        "max_m": points.max(axis=0).tolist(),
        "properties": {name: {k: v for k, v in held.items() if k != "id"} for name, held in sets.items()},
    }


def seen(before, after):
    model = ifcopenshell.open(after)
    last = 0 if before == "-" else max(i.id() for i in ifcopenshell.open(before))
    schema = ifcopenshell.ifcopenshell_wrapper.schema_by_name(model.schema_identifier)
    added = [i for i in model if i.id() > last]
    openings = [i for i in added if i.is_a("IfcOpeningElement")]
    hosts = {i.VoidsElements[0].RelatingBuildingElement for i in openings}
    ids = [i.GlobalId for i in model.by_type("IfcRoot")]
    return {
        "schema": model.schema_identifier,
        "faults": [fault for i in added for fault in faults(schema, i)],
        "repeated_ids": len(ids) - len(set(ids)),
        "openings": [
            {"guid": i.GlobalId, "host": i.VoidsElements[0].RelatingBuildingElement.GlobalId} for i in openings
        ],
        "volumes_m3": {i.GlobalId: [volume(i, whole), volume(i, settings)] for i in hosts},
        "provisions": [
            provision(i)
            for i in added
            if getattr(i, "PredefinedType", None) == "PROVISIONFORVOID"
            or getattr(i, "ObjectType", None) == "ProvisionForVoid"
        ],
    }


pairs = zip(sys.argv[1::2], sys.argv[2::2], strict=True)
print(json.dumps([seen(before, after) for before, after in pairs]))
