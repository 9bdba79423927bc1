"""What plugins bring, and how they are found."""
