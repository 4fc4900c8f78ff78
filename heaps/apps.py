from django.apps import AppConfig


class HeapsConfig(AppConfig):
    name = "heaps"
