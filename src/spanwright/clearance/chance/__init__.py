"""How likely gaps keep their words: each least gap by draws, and the joint risk of the whole job."""
