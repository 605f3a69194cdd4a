"""Analyses of a boat: study, envelopes, margins, sizing, comparison, fatigue."""
