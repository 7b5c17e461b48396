"""strategies"""
