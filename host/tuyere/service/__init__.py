"""The engine as a service of the operating system: started with the machine, watched, and the machine kept awake."""
