"""From records to the workshop's own figures, and from those to the next plan."""
