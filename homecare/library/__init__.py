"""The exercise library: YAML read once into typed records, with every fault at its line."""
