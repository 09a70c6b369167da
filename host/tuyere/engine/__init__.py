"""The long-lived part: owns the port, the logbook and the alarms; screens come and go."""
