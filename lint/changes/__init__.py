"""changes"""
