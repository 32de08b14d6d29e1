"""What a laboratory keeps of a sample: its specimens, and their masses as they were captured."""

from ramphold.sample._specimen import Mass, Specimen, Weighing, standing_masses

__all__ = ["Mass", "Specimen", "Weighing", "standing_masses"]
