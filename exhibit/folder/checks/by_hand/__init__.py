"""Whether what people are to do by hand can be done, in a safe order, and who may do it."""
