"""What instruments wrote, from whatever form it has to channels: a quantity, from one source, over time."""
