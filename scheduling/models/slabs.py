"""The pieces of slab of a pour: outline, depth, thickened edges and openings."""

from django.db import models

from scheduling.engine.inputs import DepthKind, Shape
from scheduling.models.pours import Pour, words

SHAPES = [(s.value, words(s)) for s in Shape]


class Outline(models.Model):
    """Columns an outline needs; which of them are filled depends on the shape."""

    shape = models.CharField(max_length=10, choices=SHAPES, default=Shape.RECTANGLE.value)
    length_m = models.FloatField(null=True, blank=True)
    width_m = models.FloatField(null=True, blank=True)
    side_b_m = models.FloatField(null=True, blank=True, help_text="The second parallel side of a trapezoid.")
    diameter_m = models.FloatField(null=True, blank=True)
    area_m2 = models.FloatField(null=True, blank=True)
    corners_m = models.JSONField(null=True, blank=True, help_text="Corners of a polygon, [[x, y], …].")

    class Meta:
        abstract = True


def positive(**sizes: float) -> models.Q:
    """Sizes given and more than zero. A missing size compares as unknown, which a check would let pass."""
    return models.Q(**{f"{name}__isnull": False for name in sizes}) & models.Q(
        **{f"{name}__gt": least for name, least in sizes.items()}
    )


def outline_is_whole(name: str) -> models.CheckConstraint:
    """A constraint: each shape has the sizes it needs."""
    needed = {
        Shape.RECTANGLE: positive(length_m=0, width_m=0),
        Shape.TRAPEZOID: positive(length_m=0, width_m=0) & models.Q(side_b_m__isnull=False, side_b_m__gte=0),
        Shape.POLYGON: models.Q(corners_m__isnull=False),
        Shape.CIRCLE: positive(diameter_m=0),
        Shape.AREA: positive(area_m2=0),
    }
    whole = models.Q()
    for shape, sizes in needed.items():
        whole |= models.Q(shape=shape.value) & sizes
    return models.CheckConstraint(condition=whole, name=name)


class SlabSection(Outline):
    """One piece of slab. `depth_m` is the thickness at the low edge where the top falls over a flat base."""

    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="sections")
    position = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=60, blank=True)
    depth_kind = models.CharField(
        max_length=12, choices=[(k.value, words(k)) for k in DepthKind], default=DepthKind.UNIFORM.value
    )
    depth_m = models.FloatField(null=True, blank=True)
    fall_m = models.FloatField(default=0.0)
    falls_towards_deg = models.FloatField(default=90.0)
    spot_depths_m = models.JSONField(null=True, blank=True)
    drawn_depth_m = models.FloatField(null=True, blank=True, help_text="What the drawing calls it.")
    shaded = models.BooleanField(default=False, help_text="It lies in shade while it sets.")

    class Meta:
        ordering = ["pour", "position"]
        constraints = [
            models.UniqueConstraint(fields=["pour", "position"], name="section_position_once"),
            outline_is_whole("section_outline_whole"),
            models.CheckConstraint(
                condition=models.Q(depth_kind=DepthKind.SPOTS.value, spot_depths_m__isnull=False)
                | (~models.Q(depth_kind=DepthKind.SPOTS.value) & positive(depth_m=0)),
                name="section_depth_whole",
            ),
            models.CheckConstraint(condition=models.Q(fall_m__gte=0), name="section_fall_not_negative"),
        ]

    def __str__(self) -> str:
        return self.label or f"section {self.position}"


class SlabEdge(models.Model):
    """A thickened edge; no length means all round."""

    section = models.ForeignKey(SlabSection, on_delete=models.CASCADE, related_name="edges")
    width_m = models.FloatField()
    depth_m = models.FloatField()
    length_m = models.FloatField(null=True, blank=True)
    taper_m = models.FloatField(default=0.0)

    class Meta:
        ordering = ["section", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(width_m__gt=0, depth_m__gt=0, taper_m__gte=0), name="edge_sizes_positive"
            ),
        ]

    def __str__(self) -> str:
        return f"edge of {self.section}"


class SlabOpening(Outline):
    """A hole through the slab, or several alike."""

    section = models.ForeignKey(SlabSection, on_delete=models.CASCADE, related_name="openings")
    count = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["section", "id"]
        constraints = [
            outline_is_whole("opening_outline_whole"),
            models.CheckConstraint(condition=models.Q(count__gte=1), name="opening_count_positive"),
        ]

    def __str__(self) -> str:
        return f"opening in {self.section}"
