"""How much artwork may ask of this machine. Artwork is untrusted: each limit has a name, a reason and a test."""

LARGEST_FILE = 200 * 2**20  # bytes, unpacked; four times the largest artwork this is built for; stops packed bombs
MOST_ELEMENTS = 2_000_000  # of the file; about what the largest file can hold in useful shapes
DEEPEST = 1_000  # nested elements; drawing programs stay under a hundred, the XML parser's own limit is 2,048
MOST_COPIES = 100_000  # elements drawn through reuse; a chain of ten tenfold reuses would be 10^10
MOST_MEASURED = 30_000  # elements looked at for boxes of groups in groups, which takes their square
MOST_CROSSINGS = 100_000  # of a clipping path or cut fill with itself; more is a scribble, and takes minutes
MOST_SELECTOR_TESTS = 50_000_000  # ancestors that the selectors of style sheets may have to look at
MOST_CURVES = 5_000_000  # curve and line segments after reuse: 320 MB of control points
MOST_POINTS = 25_000_000  # points after flattening: 400 MB; more means a scale slip, not a drawing
MOST_DASHES = 1_000_000  # dashes of all strokes; a marker cannot draw that many
MOST_ENTITY_BYTES = 1_000_000  # what plain text entities may add; programs use a dozen short ones for namespaces
LONGEST_REFERENCE_CHAIN = 50  # paint that refers to paint, clip to clip; deeper is a loop or a bomb
