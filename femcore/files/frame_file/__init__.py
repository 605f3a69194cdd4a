"""The frame file: any structure of beams and cables, its load cases, and what is expected of it.

The project's README describes the format; `FrameFile.model_json_schema()` is its JSON Schema. Units are converted here.
"""

from femcore.files.frame_file.build import frame_of, loads_of
from femcore.files.frame_file.expectations import Expectation
from femcore.files.frame_file.file import FrameFile, read_frame_file

__all__ = ["Expectation", "FrameFile", "frame_of", "loads_of", "read_frame_file"]
