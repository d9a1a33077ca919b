"""The desk: a case made, answered and documented in the browser of this machine, without a file written by hand.

`document` is the case file as text in blocks, `case` what is done to it, `items`, `plates`, `words`, `tables` what people
write, `answers` what follows from it; none of these knows a browser. `server` and `views` show it.
"""
