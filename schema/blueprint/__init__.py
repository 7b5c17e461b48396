"""blueprint"""
