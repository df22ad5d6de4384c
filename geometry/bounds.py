"""How large an input may be, in one place.

Each bound is far beyond what a hull needs and within what a computer of 16 GB bears. What exceeds
one is refused before any work starts, by a line that names the bound.
"""

from __future__ import annotations

# any YAML file: cases, studies, material cards
FILE_BYTES = 200_000  # a case takes about 3,000, with its cards 10,000
TREE_VALUES = 50_000  # after aliases are followed
TREE_LEVELS = 20
OPEN_BRACKETS = 200  # those in texts and remarks counted with them

# texts
TITLE = 200  # characters
NOTE = 4_000
SOURCE = 500
NAME = 61
FOLDER = 100  # of a folder of results

# the wall
BLOCKS = 300
ANGLES = 200  # of one block
REPEATS = 5_000
PLIES = 5_000
RESOLVED_PLIES = 200
WALL_LAYERS = 300  # meshed one beside the other

# the mesh
MESH_LEVEL = 3
TRIANGLES = 100_000  # of fourth order: some 10 GB and ten minutes on one core

# lists of a case
DIVES = 10_000_000
DIVE_LIST = 100
FLAWS = 20
GAUGES = 64
KNOCK_DOWNS = 50
CARDS = 100
TESTED_STRENGTHS = 50
MIX_PARTS = 6
CURE_STEPS = 10
COUPONS = 1_000

# studies
VARIABLES = 50
VALUES = 1_000  # of one variable, listed or as steps of a range
CORRELATED_GROUPS = 20
CORRELATED_FIELDS = 20
HEADLINES = 60
POINTS = 200_000
POPULATION = 1_000
GENERATIONS = 1_000
BATCHES = 5_000  # each is a job of the workflow

# tables of a proof test
TABLE_BYTES = 50_000_000
TABLE_ROWS = 500_000
TABLE_COLUMNS = 100
READING = 1_000_000.0  # microstrain, to either side
TEST_PRESSURE = 1_000.0  # MPa
