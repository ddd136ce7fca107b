"""From frozen figures to drawings, sentences and PDF bytes. No query, no request."""
