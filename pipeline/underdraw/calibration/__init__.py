"""What readings typed in from a card say of a marker and a machine, as lines for a job, and how sure they are."""
