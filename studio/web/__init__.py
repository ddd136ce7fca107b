"""What serves pages: context, middleware, fragments, the server, what waits on the first page.

No rule of the work.
"""
