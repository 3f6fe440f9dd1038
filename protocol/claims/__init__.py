"""Published claims, declared for an audit."""
