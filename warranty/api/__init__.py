"""The API of promises and claims."""
