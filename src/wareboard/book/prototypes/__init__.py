"""Approved prototypes, the client's drawings and paintings, and colours of test tiles, as they are kept."""
