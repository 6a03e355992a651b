"""What two screens share."""
