"""Pages of kilns and firings."""
