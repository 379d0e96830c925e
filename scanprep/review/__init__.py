"""The review page: the mock-up on the table, where people look at a case together and decide.

`scene` says what the page shows, as plain values; `desk` holds the case while people sit at it; `server` lets browsers
ask for both; `web` is what the browser gets. `single_file` writes the same page as one file to send.
"""
