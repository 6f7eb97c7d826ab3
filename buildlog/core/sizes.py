"""The largest files that people hand in, and the largest request beside them [bytes]. Everybody who reads one looks
here: the gate before it is kept, the form before it is read, the reader before it is taken apart.
"""

TABLE = 20_000_000  # a table as CSV or XLSX; 200,000 stints have 12 MB
PACK = 64 * 1024 * 1024  # a packed build; 20,000 pixels that are done take about 2 MB
BATCH = 128 * 1024  # entries from a tablet's outbox
REQUEST = 256 * 1024  # any other form: one that ticks all 7,288 segments of the largest ball takes half of it
