from django.apps import AppConfig


class ExchangeConfig(AppConfig):
    name = "collection.exchange"
    label = "exchange"
    verbose_name = "Exchange"
