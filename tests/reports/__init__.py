"""From frozen facts to drawings, sentences and PDF bytes."""
