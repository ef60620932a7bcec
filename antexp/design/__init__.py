"""Which antenna hangs when: blocks, swap order, precision of a design, order file."""
