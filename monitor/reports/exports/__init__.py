"""What a unit takes out of its record for others: some hours of a bed as tables or as FHIR resources."""
