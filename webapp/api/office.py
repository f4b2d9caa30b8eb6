from flask import Blueprint

bp = Blueprint("office", __name__)
