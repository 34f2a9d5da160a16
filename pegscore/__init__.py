"""Which numbered river pegs suit which fish, why, and on what evidence."""
