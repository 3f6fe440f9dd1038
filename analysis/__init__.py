"""What is computed: runs to double runs to session values to comparison to verdict."""
