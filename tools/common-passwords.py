#!/usr/bin/env python3
"""Makes crates/web/assets/common-passwords.bin from a list of passwords, one a line.

Kept is, of every password of eight characters or more, in lower case, the first eight bytes of its SHA-256, sorted:
enough to recognise one, and no list of anybody's words in the repository.

The file in the repository was made from the 19,640 passwords that the Django web framework 5.2 ships
(django/contrib/auth/common-passwords.txt.gz; BSD licence): zcat LIST.gz | tools/common-passwords.py OUT
"""

import hashlib
import sys

words = {line.rstrip("\n").lower() for line in sys.stdin}
kept = sorted(hashlib.sha256(w.encode()).digest()[:8] for w in words if len(w) >= 8)
with open(sys.argv[1], "wb") as out:
    out.write(b"".join(kept))
print(f"{len(kept)} passwords", file=sys.stderr)
