"""The demo: a real daemon on a simulated bench, and people who work at it."""

from ramphold.demo._force_lever import ForceLever
from ramphold.demo._half_year import fill_laboratory
from ramphold.demo._one_specimen import DemoResult, crush_one_specimen
from ramphold.demo._practice import Exercise, drawn_order, practise_once
from ramphold.demo._sample_result import IssueReport, ReportIssue, SampleDemoResult
from ramphold.demo._simulated_bench import SimulatedBench
from ramphold.demo._simulated_trial import SimulatedTrier
from ramphold.demo._whole_sample import walk_sample

__all__ = [
    "DemoResult",
    "Exercise",
    "ForceLever",
    "IssueReport",
    "ReportIssue",
    "SampleDemoResult",
    "SimulatedBench",
    "SimulatedTrier",
    "crush_one_specimen",
    "drawn_order",
    "fill_laboratory",
    "practise_once",
    "walk_sample",
]
