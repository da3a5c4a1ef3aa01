"""The pages of promises and claims."""
