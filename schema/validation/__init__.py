"""validation"""
