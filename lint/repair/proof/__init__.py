"""proof"""
