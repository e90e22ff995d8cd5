"""The condition terms. Lights, cautions, materials and grades are data files only."""

from django.db import models


class Term(models.Model):
    """One condition term, from the data file or added by the department."""

    class Group(models.TextChoices):
        SUPPORT_STRUCTURE = "support-structure", "Support: structure"
        SUPPORT_SURFACE = "support-surface", "Support: surface"
        DISCOLORATION = "discoloration", "Discoloration and stains"
        MEDIA = "media", "Media"
        ATTACHMENTS = "attachments", "Attachments and mounts"
        BIOLOGICAL = "biological", "Biological"
        REPAIRS = "repairs", "Earlier repairs"
        MAKING = "making", "Features of making"

    # A slug, never reused: records point to it for good.
    code = models.SlugField(max_length=64, primary_key=True)
    group = models.CharField(max_length=32, choices=Group.choices)
    name = models.CharField(max_length=80)
    definition = models.TextField()
    # Codes of the lights that usually show it, most telling first.
    lights = models.JSONField(default=list)
    may_be_feature = models.BooleanField(default=False)
    # Codes from hazards.json, for example "active-mould".
    hazards = models.JSONField(default=list, blank=True)
    # Code from cautions.json of what to read before going on, or empty.
    caution = models.CharField(max_length=32, blank=True)
    # {"slight": "…", "moderate": "…", "severe": "…"}; {} for a pure feature of making.
    anchors = models.JSONField(default=dict, blank=True)
    source = models.CharField(max_length=300, default="Common practice, no source")
    order = models.PositiveIntegerField(default=0)
    is_departmental = models.BooleanField(default=False)
    # A retired term is no longer offered, but records that use it still read well.
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["order", "name"]

    def __str__(self) -> str:
        return self.name
