"""Forms of kilns and firings."""
