"""What a front end can ask for: joins the file, the memory model and the plan."""
