"""From a decided sheet to what is printed, filed or shown on a phone; formats, and never decides."""
