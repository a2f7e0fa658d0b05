"""What a person does: how a run starts, ends and is judged."""
