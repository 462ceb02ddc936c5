"""A visit names the certificates that are due with it."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inspections', '0005_chain_holds'),
        ('trades', '0001_initial'),
    ]

    operations = [
        migrations.AddField(
            model_name='visit',
            name='certificates',
            field=models.ManyToManyField(blank=True, related_name='visits', to='inspections.certificate'),
        ),
    ]
