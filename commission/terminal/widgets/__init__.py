"""What several screens use: state line, key line, stop field, trace, prompt box."""
