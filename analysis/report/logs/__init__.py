"""What instruments wrote, told to people."""
