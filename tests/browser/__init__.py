"""What only a browser shows: keyboard, touch, layout, lost connections, accessibility."""
