"""What a person does at the machine's switches and keys: values, words and drawings."""
