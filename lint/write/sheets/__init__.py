"""What one command shows, as text and as documents: an audit, an impact, a sizing."""
