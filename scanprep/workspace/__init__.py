"""The case folder: what exists, what is stale, what to redo, on an executor.

    DIR/case.toml          the display as people say it         DIR/checklist.csv   the checklist as last taken
    DIR/scans/…            never written to                      DIR/record.sqlite   every decision, append-only
    DIR/out/OBJECT/…       spec.json, spec.pdf, holds.png        DIR/out/*.csv       schedule, findings
    DIR/papers/…           what the bench prints                 DIR/.cache/…        results that may be thrown away
"""
